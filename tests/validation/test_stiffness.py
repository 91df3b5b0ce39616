"""Sections that bend and twist, against integration over the section and against the torsion problem solved.

[P] published, [D] derived and checked numerically by an independent route.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.sparse import csr_matrix
from scipy.sparse.linalg import spsolve
from shapely.geometry import LineString

from formsketch.errors import FormSketchError
from formsketch.forging.section import plastic_moduli_mm3, second_moments_mm4, stadium_area_mm2
from formsketch.forging.stiffness import (
    elastic_moduli_mm3,
    plastic_torsion_modulus_mm3,
    torsion_constant_mm4,
    torsion_modulus_mm3,
)

SECTIONS = [(1.5, 0.5), (1.0, 1.0), (2.0, 1.3), (4.0, 0.4)]


def chord(y: float, thickness: float) -> float:
    """Half the chord of a round edge at a height."""
    return float(np.sqrt(max(thickness**2 / 4 - y * y, 0.0)))


def test_the_worked_section() -> None:
    # [D] exact formulas of the stadium, w 1.5 t 0.5.
    assert stadium_area_mm2(1.5, 0.5) == pytest.approx(0.6963495408, abs=1e-10)
    weak, strong = second_moments_mm4(1.5, 0.5)
    assert (weak, strong) == (pytest.approx(0.0134846282, abs=1e-10), pytest.approx(0.1146553468, abs=1e-10))
    weak, strong = plastic_moduli_mm3(1.5, 0.5)
    assert (weak, strong) == (pytest.approx(0.0833333333, abs=1e-10), pytest.approx(0.2440081038, abs=1e-10))
    weak, strong = elastic_moduli_mm3(1.5, 0.5)
    assert weak == pytest.approx(0.0134846282 / 0.25, rel=1e-8)
    assert strong == pytest.approx(0.1146553468 / 0.75, rel=1e-8)


@pytest.mark.parametrize(("width", "thickness"), SECTIONS)
def test_bending_against_integration_over_the_section(width: float, thickness: float) -> None:
    # [D] strips of the section, by scipy: weak over the height, strong over the breadth.
    flat, half = width - thickness, thickness / 2

    def breadth(y: float) -> float:
        return flat + 2 * chord(y, thickness)

    def height(x: float) -> float:
        return 2 * chord(max(abs(x) - flat / 2, 0.0), thickness)

    weak, strong = second_moments_mm4(width, thickness)
    plastic_weak, plastic_strong = plastic_moduli_mm3(width, thickness)
    tight = {"epsabs": 1e-12, "epsrel": 1e-12, "limit": 300}
    assert weak == pytest.approx(2 * quad(lambda y: y * y * breadth(y), 0, half, **tight)[0], rel=1e-8)
    assert plastic_weak == pytest.approx(2 * quad(lambda y: y * breadth(y), 0, half, **tight)[0], rel=1e-8)
    edges = {"points": [flat / 2], **tight} if flat else tight
    over = (0.0, width / 2)
    assert strong == pytest.approx(2 * quad(lambda x: x * x * height(x), *over, **edges)[0], rel=1e-8)
    assert plastic_strong == pytest.approx(2 * quad(lambda x: x * height(x), *over, **edges)[0], rel=1e-8)


@pytest.mark.parametrize(("width", "thickness"), [(1.5, 0.5), (4.0, 0.4)])
def test_area_and_second_moments_against_a_polygon(width: float, thickness: float) -> None:
    # Independent library: Shapely's buffer of a straight line is the stadium; moments by the shoelace sums.
    flat = width - thickness
    shape = LineString([(-flat / 2, 0), (flat / 2, 0)]).buffer(thickness / 2, quad_segs=2000)
    x, y = np.array(shape.exterior.coords).T
    cross = x[:-1] * y[1:] - x[1:] * y[:-1]

    def second(v: np.ndarray) -> float:
        return abs(float(np.sum(cross * (v[:-1] ** 2 + v[:-1] * v[1:] + v[1:] ** 2)))) / 12

    assert stadium_area_mm2(width, thickness) == pytest.approx(shape.area, rel=1e-6)
    weak, strong = second_moments_mm4(width, thickness)
    assert (weak, strong) == (pytest.approx(second(y), rel=1e-6), pytest.approx(second(x), rel=1e-6))


def torsion_by_differences(width: float, thickness: float, across: int) -> float:
    """Prandtl's stress function on a square net, its edge met by unequal arms (Shortley-Weller)."""
    step, flat = thickness / across, width - thickness
    xs = np.arange(0, int(np.ceil(width / 2 / step)) + 1) * step
    ys = np.arange(0, across // 2 + 1) * step
    x, y = np.meshgrid(xs, ys, indexing="ij")

    def reach_x(y: float) -> float:
        return flat / 2 + chord(y, thickness)

    def reach_y(x: float) -> float:
        return chord(max(x - flat / 2, 0.0), thickness)

    inside = np.hypot(np.maximum(x - flat / 2, 0), y) < thickness / 2 - 1e-9 * step
    number = -np.ones(inside.shape, dtype=int)
    number[inside] = np.arange(inside.sum())
    rows, columns, values = [], [], []
    for i, j in zip(*np.nonzero(inside), strict=True):
        here = number[i, j]
        for along, at, reach in (((1, 0), xs[i], reach_x(ys[j])), ((0, 1), ys[j], reach_y(xs[i]))):
            ahead = min(step, reach - at)
            back = step
            forward, behind = (i + along[0], j + along[1]), (abs(i - along[0]), abs(j - along[1]))
            for arm, other, cell in ((ahead, back, forward), (back, ahead, behind)):
                weight = 2 / (arm * (arm + other))
                rows += [here]
                columns += [here]
                values += [weight]
                in_net = cell[0] < len(xs) and cell[1] < len(ys)
                if in_net and inside[cell]:
                    rows += [here]
                    columns += [number[cell]]
                    values += [-weight]
    matrix = csr_matrix((values, (rows, columns)), shape=(inside.sum(),) * 2)
    phi = np.zeros(inside.shape)
    phi[inside] = spsolve(matrix.tocsc(), np.full(inside.sum(), 2.0))
    # Strips across, each ended where the edge is: phi is 0 there.
    strips = []
    for i, one in enumerate(xs):
        top = reach_y(one) if one < width / 2 else 0.0
        net = ys[ys < top - 1e-9 * step]
        strips.append(np.trapezoid(np.append(phi[i, : len(net)], 0.0), np.append(net, max(top, 0.0))))
    return 8 * float(np.trapezoid(strips, xs))


@pytest.mark.parametrize(("width", "thickness"), [(1.5, 0.5), (1.3, 0.8), (2.2, 0.45)])
def test_torsion_constant_against_the_torsion_problem(width: float, thickness: float) -> None:
    # [D] two nets and Richardson's extrapolation: the error of both net and strips falls with the square.
    coarse, fine = (torsion_by_differences(width, thickness, n) for n in (24, 48))
    solved = fine + (fine - coarse) / 3
    assert torsion_constant_mm4(width, thickness) == pytest.approx(solved, rel=5e-4)


def test_torsion_of_a_round_and_of_a_thin_strip() -> None:
    # [P] round wire: J = pi d^4/32, greatest shear at T/(pi d^3/16); any strength-of-materials text.
    assert torsion_constant_mm4(1.2, 1.2) == pytest.approx(np.pi * 1.2**4 / 32, rel=1e-6)
    assert torsion_modulus_mm3(1.2, 1.2) == pytest.approx(np.pi * 1.2**3 / 16, rel=1e-6)
    # [P] thin strip: J -> w t^3/3, greatest shear T t/J.
    assert torsion_constant_mm4(200.0, 1.0) == pytest.approx(200 / 3, rel=5e-3)
    assert torsion_modulus_mm3(200.0, 1.0) == pytest.approx(torsion_constant_mm4(200.0, 1.0), rel=1e-9)
    # [P] fully plastic round: pi d^3/12; thin strip w t^2/2.
    assert plastic_torsion_modulus_mm3(1.2, 1.2) == pytest.approx(np.pi * 1.2**3 / 12, rel=1e-12)
    assert plastic_torsion_modulus_mm3(200.0, 1.0) == pytest.approx(100.0, rel=4e-3)


@pytest.mark.parametrize(("width", "thickness"), SECTIONS)
def test_the_sand_heap(width: float, thickness: float) -> None:
    # Nadai: the plastic torque is twice the heap's volume. The heap's height is the distance to the edge; by
    # level curves the volume is the integral of the area of the section shrunk by that distance.
    shrunk = [
        LineString([(0, 0), (max(width - thickness, 1e-9), 0)]).buffer(thickness / 2 - h, quad_segs=64).area
        for h in np.linspace(0, thickness / 2, 401)[:-1]
    ] + [0.0]
    volume = np.trapezoid(shrunk, dx=thickness / 800)
    assert plastic_torsion_modulus_mm3(width, thickness) == pytest.approx(2 * volume, rel=1e-3)


def test_sections_come_as_arrays_and_a_wrong_one_is_refused() -> None:
    width = np.array([1.5, 1.0])
    assert torsion_constant_mm4(width, 0.5).shape == (2,)
    with pytest.raises(FormSketchError, match="width of the section"):
        torsion_constant_mm4(0.4, 0.5)
