"""The spread of the maker's own hammer, from samples and from a whole piece."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from formsketch.bench.reading import reading_half_band, student_t_975
from formsketch.cli import commands
from formsketch.design.edits import change_hammer, change_spread
from formsketch.design.file_format import design_bytes, load_design
from formsketch.design.model import Design, Flare, Form, Hammer, Run, Span, Wire
from formsketch.errors import FormSketchError, InputError
from formsketch.evaluation.evaluate import evaluate
from formsketch.fitting.calibration import Sample, calibrate, read_sample
from formsketch.fitting.calibration_report import calibration_typed, sample_typed
from formsketch.fitting.piece_calibration import calibrate_piece
from formsketch.forging.spread import SampleError, hammered_width_mm
from formsketch.shipped import demo_design_files
from tests.support.commands import assert_no_window_loaded, run_in_process
from tests.support.strategies import EVERY_WAY, calm

KNOWN = Sample(1.0, 0.5, 1.5)


def the_bracelet() -> Design:
    """The demo bracelet, hammered by a made-up hammer's starting value."""
    designs = [load_design(file).design for file in demo_design_files()]
    return next(design for design in designs if "bracelet" in f"{design.title} {design.notes}".lower())


def test_the_known_sample() -> None:
    # [D] ln 1.5/ln(h0 1.5/A) with h0 = pi/4 and A = 0.5 + pi 0.25/4, computed by hand to ten places.
    found = calibrate([KNOWN])
    assert found.spread == pytest.approx(0.7711333156, abs=5e-11)
    assert found.elongation == pytest.approx(1.1278792005, abs=5e-11)
    assert found.scatter is None
    assert "one sample" in found.how


def unchecked_spread(d: float, t: float, w: float) -> float:
    """S by its definition, written out anew."""
    area = t * (w - t) + math.pi * t * t / 4
    return math.log(w / d) / math.log(math.pi / 4 * d * w / area)


@pytest.mark.parametrize("sizes", [(1.0, 0.5, 1.5), (1.29, 0.9, 1.5), (2.0, 0.7, 3.4)])
def test_the_band_of_one_sample_is_that_of_the_calipers(sizes: tuple[float, float, float]) -> None:
    # Derivatives by central differences of the definition; e/sqrt 3 for each reading and 1.96 standard
    # uncertainties, JCGM 100:2008 4.3.7, 5.1.2 and table G.1 [P].
    step, slopes = 1e-6, []
    for i in range(3):
        up, down = list(sizes), list(sizes)
        up[i] += step
        down[i] -= step
        slopes.append((unchecked_spread(*up) - unchecked_spread(*down)) / (2 * step))
    expected = 1.95996 * 0.02 / math.sqrt(3) * math.sqrt(sum(slope**2 for slope in slopes))
    assert read_sample(Sample(*sizes), 0.02).half_band == pytest.approx(expected, rel=1e-4)
    found = calibrate([Sample(*sizes)], 0.02)
    assert found.high - found.spread == pytest.approx(expected, rel=1e-4)
    assert calibrate([Sample(*sizes)], 0.0).low == found.spread


@pytest.mark.parametrize("freedom", [*range(1, 31), 31, 40, 60, 120, 1000])
def test_student_t_against_an_independent_library(freedom: int) -> None:
    stats = pytest.importorskip("scipy.stats")

    assert student_t_975(freedom) == pytest.approx(stats.t.ppf(0.975, freedom), abs=6e-4)


def test_half_a_band_adds_by_squares() -> None:
    # A 3-4-5 triangle of slopes: five standard uncertainties of e/sqrt 3, 1.96 of them.
    assert reading_half_band((3.0, -4.0), math.sqrt(3)) == pytest.approx(5 * 1.959964, rel=1e-6)
    with pytest.raises(InputError, match="Two values"):
        student_t_975(0)


def test_several_samples_give_a_mean_and_student_s_band() -> None:
    # Calipers without fault: mean and t s/sqrt n of the three spreads by scipy's own confidence interval.
    stats = pytest.importorskip("scipy.stats")

    samples = [KNOWN, Sample(1.0, 0.5, 1.45), Sample(1.0, 0.6, 1.3)]
    spreads = [unchecked_spread(s.diameter_mm, s.thickness_mm, s.width_mm) for s in samples]
    low, high = stats.t.interval(0.95, 2, loc=np.mean(spreads), scale=stats.sem(spreads))
    found = calibrate(samples, 0.0)
    assert found.spread == pytest.approx(np.mean(spreads), rel=1e-12)
    assert found.scatter == pytest.approx(np.std(spreads, ddof=1), rel=1e-12)
    assert (found.low, found.high) == (pytest.approx(low, abs=1e-4), pytest.approx(min(high, 1.0), abs=1e-4))
    assert calibrate(samples, 0.02).low < found.low
    assert "Student's t" in found.how


def five_samples(diameter: float, noise: NDArray[np.float64]) -> list[Sample]:
    """Five samples of a made-up hammer of spread 0.73, read with this noise, shape (5, 2)."""
    samples = []
    for ratio, (on_thickness, on_width) in zip((0.4, 0.45, 0.5, 0.55, 0.6), noise, strict=True):
        width = float(hammered_width_mm(ratio * diameter, diameter, 0.73))
        samples.append(Sample(diameter, ratio * diameter * (1 + on_thickness), width * (1 + on_width)))
    return samples


@given(st.integers(0, 10_000), st.floats(0.5, 3.0), st.floats(0.4, 0.7))
@calm(60)
def test_a_made_up_hammer_is_found_again(seed: int, diameter: float, ratio: float) -> None:
    # Round trip: readings off by up to 1 % in thickness and in width, all of it one way at worst, are a new
    # flare's width off by up to 2 %; by much less as a rule, see below.
    noise = np.random.default_rng(seed).uniform(-0.01, 0.01, (5, 2))
    found = calibrate(five_samples(diameter, noise))
    assert found.low <= found.spread <= found.high
    new = float(hammered_width_mm(ratio * diameter, diameter, found.spread))
    assert new == pytest.approx(float(hammered_width_mm(ratio * diameter, diameter, 0.73)), rel=0.02)


@pytest.mark.parametrize("seed", range(8))
def test_width_and_cut_length_after_five_samples(seed: int) -> None:
    # The made-up hammer again: a new flare's width within 1 %, the bracelet's cut length within 0.5 %.
    noise = np.random.default_rng(seed).uniform(-0.01, 0.01, (5, 2))
    found = calibrate(five_samples(1.0, noise))
    bracelet = the_bracelet()
    hammer = Hammer(spread=found.spread, name="mine", low=found.low, high=found.high)
    predicted = evaluate(change_hammer(bracelet, hammer))
    made = evaluate(change_spread(bracelet, 0.73))
    assert predicted.cut_length_mm == pytest.approx(made.cut_length_mm, rel=0.005)
    assert predicted.widest_mm == pytest.approx(made.widest_mm, rel=0.01)
    assert predicted.cut_length_band.low <= predicted.cut_length_mm <= predicted.cut_length_band.high


def test_the_band_holds_the_true_spread_95_times_in_100() -> None:
    # Normal noise on the width alone, for Student's t is exact for it: of 1000 calibrations 950 are
    # expected to hold 0.73, and 930 to 970 are three standard deviations of that count; of 400, 367 to 393.
    rng = np.random.default_rng(5)
    held = 0
    count, least, most = (1000, 930, 970) if EVERY_WAY else (400, 367, 393)
    for _ in range(count):
        noise = np.stack((np.zeros(5), 0.005 * rng.standard_normal(5)), axis=1)
        found = calibrate(five_samples(1.0, noise), 0.0)
        held += found.low <= 0.73 <= found.high
    assert least <= held <= most


@given(st.floats(0.35, 0.85), st.floats(0.05, 0.95), st.floats(0.3, 5.0), st.floats(0.1, 30.0))
@calm(80)
def test_spread_does_not_depend_on_size(ratio: float, spread: float, diameter: float, scale: float) -> None:
    # Limit: a sample and the calipers' reading both enlarged are the same sample.
    width = float(hammered_width_mm(ratio * diameter, diameter, spread))
    one = read_sample(Sample(diameter, ratio * diameter, width), 0.02)
    other = read_sample(Sample(scale * diameter, scale * ratio * diameter, scale * width), 0.02 * scale)
    assert one.spread == pytest.approx(spread, abs=1e-9)
    assert other.half_band == pytest.approx(one.half_band, rel=1e-9)


@pytest.mark.parametrize(
    ("sample", "reason"),
    [
        (Sample(1.0, 0.5, 1.7), "wider than the metal allows"),
        (Sample(1.0, 0.5, 0.9), "narrower than the 1 mm wire"),
        (Sample(1.0, 1.0, 1.0), "nothing has been hammered"),
        (Sample(1.0, 1.2, 1.0), "nothing has been hammered"),
    ],
)
def test_a_sample_that_cannot_be_right_is_explained(sample: Sample, reason: str) -> None:
    with pytest.raises(SampleError, match=reason) as caught:
        calibrate([sample])
    assert str(caught.value).count("\n") == 0
    with pytest.raises(SampleError, match=f"^Sample 2: .*{reason}"):
        calibrate([KNOWN, sample])


def test_like_samples_share_the_error_of_their_wire_only() -> None:
    # Four like samples of one wire: by the GUM's sum of squares, thickness and width count a quarter.
    step, sizes, slopes = 1e-6, (1.0, 0.5, 1.5), []
    for i in range(3):
        up, down = list(sizes), list(sizes)
        up[i] += step
        down[i] -= step
        slopes.append((unchecked_spread(*up) - unchecked_spread(*down)) / (2 * step))
    expected = (
        math.sqrt(slopes[0] ** 2 + (slopes[1] ** 2 + slopes[2] ** 2) / 4) * 1.95996 * 0.02 / math.sqrt(3)
    )
    found = calibrate([KNOWN] * 4, 0.02)
    assert found.scatter == pytest.approx(0.0, abs=1e-12)
    assert found.high - found.spread == pytest.approx(expected, rel=1e-4)


def test_what_is_no_calibration_is_refused() -> None:
    with pytest.raises(InputError, match="samples were expected"):
        calibrate([])
    with pytest.raises(InputError, match="calipers read to"):
        calibrate([KNOWN], -0.1)
    with pytest.raises(FormSketchError):
        calibrate([Sample(math.nan, 0.5, 1.5)])


def test_remarks_say_how_far_to_trust_it() -> None:
    assert "One sample" in calibrate([KNOWN]).remarks[0]
    slight = Sample(1.0, 0.95, float(hammered_width_mm(0.95, 1.0, 0.7)))
    words = " ".join(calibrate([slight]).remarks)
    assert "between 0.3 and 0.9" in words and "band is wide" in words
    assert calibrate([KNOWN, KNOWN, KNOWN]).remarks == ()


# --- a whole piece


def flared_rod(thickness: float, spread: float = 0.8) -> Design:
    span = Span(length_mm=100.0, flare=Flare(thickness=thickness, hold=0.4))
    return Design(
        title="rod",
        wire=Wire(metal="brass-c26000", diameter_mm=1.0),
        hammer=Hammer(spread=spread),
        form=Form(runs=(Run(spans=(span,)),)),
    )


@pytest.mark.parametrize("true", [0.0, 0.3, 0.73, 0.97])
@pytest.mark.parametrize("make", [lambda: flared_rod(0.5), the_bracelet])
def test_a_whole_piece_gives_its_spread_back(make: Callable[[], Design], true: float) -> None:
    # Round trip: what the piece takes of wire under the true hammer, by conservation of volume.
    design = make()
    made = evaluate(change_spread(design, true))
    found = calibrate_piece(design, made.cut_length_mm, made.finished_length_mm, 0.05)
    assert found.spread == pytest.approx(true, abs=1e-9)
    assert 0 <= found.low <= found.spread <= found.high <= 1
    assert found.elongation is None and "whole piece" in found.how


def test_the_band_of_a_piece_is_what_its_lengths_leave() -> None:
    # By volume, the spread at the ends of the band makes stock fractions 1.96 e/sqrt 3 root(1 + r^2)/L apart.
    design = flared_rod(0.5)
    made = evaluate(change_spread(design, 0.6))
    used, finished = made.cut_length_mm, made.finished_length_mm
    found = calibrate_piece(design, used, finished, 0.5)
    fractions = [
        evaluate(change_spread(design, s)).stock_length_mm / finished for s in (found.low, found.high)
    ]
    ratio = used / finished
    half = 1.95996 * 0.5 / math.sqrt(3) * math.hypot(1.0, ratio) / finished
    assert fractions == pytest.approx([ratio - half, ratio + half], rel=1e-6)


@pytest.mark.parametrize(
    ("thickness", "used", "finished", "reason"),
    [
        (0.5, 100.0, 95.0, "No spread from 0 to 1 fits"),
        (0.5, 100.0, 190.0, "No spread from 0 to 1 fits"),
        (1.0, 100.0, 100.0, "hammered too little to tell"),
        (0.97, 99.8, 100.0, "hammered too little to tell"),
        (0.5, 0.0, 100.0, "length above 0"),
        (0.5, 100.0, math.nan, "length above 0"),
    ],
)
def test_a_piece_that_tells_nothing_is_explained(
    thickness: float, used: float, finished: float, reason: str
) -> None:
    with pytest.raises(InputError, match=reason):
        calibrate_piece(flared_rod(thickness), used, finished)


def test_the_ends_take_their_wire_first() -> None:
    bracelet = the_bracelet()
    ends_mm = sum(end.stock_mm for end in evaluate(bracelet).ends)
    assert ends_mm > 1
    with pytest.raises(InputError, match="ends alone take"):
        calibrate_piece(bracelet, 0.9 * ends_mm, 100.0)


# --- typed, and on the command line


def test_samples_as_typed() -> None:
    # 18 B&S is 1.023687 mm (ASTM B258 [P]).
    sample = sample_typed("18 ga, 0.6 mm,1/16 in")
    assert sample.diameter_mm == pytest.approx(1.023687, abs=5e-7)
    assert (sample.thickness_mm, sample.width_mm) == (0.6, pytest.approx(25.4 / 16))
    for text in ("1,0.5", "1,0.5,1.5,2", ""):
        with pytest.raises(InputError, match="with commas between"):
            sample_typed(text)


@pytest.mark.parametrize(
    ("samples", "used", "reason"),
    [((), None, "sample was expected"), (("1,0.5,1.5",), "100", "go with a piece")],
)
def test_what_is_typed_must_belong_together(samples: tuple[str, ...], used: str | None, reason: str) -> None:
    with pytest.raises(InputError, match=reason):
        calibration_typed(samples, None, used, None, None)
    with pytest.raises(InputError, match="expected"):
        calibration_typed(("1,0.5,1.5",), flared_rod(0.5), None, None, None)
    with pytest.raises(InputError, match="finished length"):
        calibration_typed((), flared_rod(0.5), "90", None, None)


def test_the_command_prints_spread_scatter_and_lengthening(capsys: pytest.CaptureFixture[str]) -> None:
    commands.main(["hammer", "--sample", "1,0.5,1.5", "--json"], standalone_mode=False)
    printed = json.loads(capsys.readouterr().out)
    assert printed["spread"] == pytest.approx(0.7711333156, abs=5e-11)  # [D]
    assert printed["elongation"] == pytest.approx(1.1278792005, abs=5e-11)  # [D]
    commands.main(
        ["hammer", "--sample", "1,0.5,1.5", "--sample", "1 mm,0.5 mm,1.4", "--reads-to", "0.01"],
        standalone_mode=False,
    )
    text = capsys.readouterr().out
    assert "Spread" in text and "Scatter" in text and "times" in text and "± 0.01 mm" in text


def test_the_command_loads_no_window_and_says_what_is_wrong(tmp_path: Path) -> None:
    rod = tmp_path / "rod.formsketch.json"
    rod.write_bytes(design_bytes(flared_rod(0.5)))
    made = evaluate(change_spread(flared_rod(0.5), 0.6))
    by_piece = ("hammer", "--piece", str(rod), "--used", f"{made.cut_length_mm:.4f} mm",
                "--finished", "10 cm", "--reads-to", "0.1", "--json")  # fmt: skip
    assert_no_window_loaded(tmp_path, ("hammer", "--sample", "1,0.5,1.5"), by_piece)
    code, out, err = run_in_process(*by_piece)
    assert (code, err) == (0, "") and json.loads(out)["spread"] == pytest.approx(0.6, abs=1e-4)
    code, out, err = run_in_process("hammer", "--sample", "1,0.5,1.9")
    assert (code, out, err.count("\n")) == (2, "", 1) and "wider than the metal allows" in err


# --- what an own hammer does to the numbers


def test_an_own_hammer_s_band_is_that_of_its_samples() -> None:
    bracelet = the_bracelet()
    own = evaluate(change_hammer(bracelet, Hammer(spread=0.7, name="mine", low=0.68, high=0.73)))
    assert own.spread_band == (0.68, 0.73, "measured on samples of mine")
    ends = [evaluate(change_spread(bracelet, s)).cut_length_mm for s in (0.68, 0.73)]
    assert (own.cut_length_band.low, own.cut_length_band.high) == (
        pytest.approx(ends[0]),
        pytest.approx(ends[1]),
    )
    codes = {caution.code for caution in own.cautions}
    assert "spread_measured" in codes and "spread_assumed" not in codes
    # Choosing another hammer by its spread leaves name and band behind.
    assert change_spread(own.design, 0.6).hammer == Hammer(spread=0.6)


def test_the_band_of_the_marks_grows_along_the_wire() -> None:
    bracelet = the_bracelet()
    evaluation = evaluate(change_hammer(bracelet, Hammer(spread=0.7, low=0.6, high=0.8)))
    low, high = evaluation.marks_band_mm
    # By volume: the marks of the same piece at the ends of the band, each evaluated for itself.
    for spread, found in ((0.6, low), (0.8, high)):
        marks = evaluate(change_spread(bracelet, spread)).spans.stock_from_mm
        assert found == pytest.approx(marks, abs=1e-9)
    band = high - low
    assert band[0] == 0 and (np.diff(band) >= -1e-12).all() and band[-1] > 1
