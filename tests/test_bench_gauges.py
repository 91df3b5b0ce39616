"""How gauges are named, listed and refused; their diameters are checked in validation/test_gauges.py."""

import math

import pytest

from formsketch.bench import gauges
from formsketch.errors import InputError


@pytest.mark.parametrize(
    ("text", "number"),
    [("16", 16), ("0", 0), ("00", -1), ("2/0", -1), ("0000", -3), ("4/0", -3), ("7/0", -6)],
)
def test_written_gauges(text: str, number: int) -> None:
    # [P] ASTM B258 counts 00, 000, 0000 as -1, -2, -3.
    assert gauges.gauge_number(text) == number


@pytest.mark.parametrize("text", ["", "16.5", "-1", "1/2", "8/0", "0/0", "x", "²", "12345678"])
def test_what_is_no_gauge_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="whole gauge number"):
        gauges.gauge_number(text)


def test_labels_read_back() -> None:
    for number in range(-6, 51):
        assert gauges.gauge_number(gauges.gauge_label(number)) == number


def test_a_wire_is_called_by_its_gauge_within_half_a_percent() -> None:
    # [P] ASTM B258: No. 16 is 1.290846 mm, No. 14 is 1.627727, No. 15 is 1.449532.
    assert gauges.gauge_text(1.290846) == "16 gauge (1.29 mm)"
    assert gauges.gauge_text(1.290846 * 1.0049) == "16 gauge (1.30 mm)"
    assert gauges.gauge_text(1.290846 * 1.0051) == "1.30 mm (between 15 and 16 gauge)"
    assert gauges.gauge_text(1.5) == "1.50 mm (between 14 and 15 gauge)"
    assert gauges.gauge_text(9.0) == "9.00 mm (between 2/0 and 0 gauge)"
    assert gauges.gauge_text(11.684) == "4/0 gauge (11.68 mm)"
    assert gauges.gauge_text(13.0) == "13.00 mm"
    assert gauges.gauge_text(0.02) == "0.020 mm"


@pytest.mark.parametrize("system", gauges.STOCK_SYSTEMS)
def test_stock_runs_thin_to_thick_over_the_range_of_jewellery_wire(system: str) -> None:
    sizes = gauges.stock_diameters(system)
    diameters = [diameter for _, diameter in sizes]
    assert diameters == sorted(set(diameters))
    assert 0.3 <= diameters[0] < 0.35
    assert 4.5 < diameters[-1] <= 5.0
    assert len({label for label, _ in sizes}) == len(sizes)


def test_stock_labels_name_their_diameters() -> None:
    assert dict(gauges.stock_diameters("B&S"))["18 gauge"] == pytest.approx(1.023687, abs=5e-7)  # [P] B258
    assert dict(gauges.stock_diameters("SWG"))["20 SWG"] == pytest.approx(0.9144, abs=1e-12)  # [P] BS 3737
    assert dict(gauges.stock_diameters("metric"))["0.8 mm"] == 0.8


def test_what_is_out_of_reach_is_refused() -> None:
    with pytest.raises(InputError, match="B&S, SWG, metric"):
        gauges.stock_diameters("Birmingham")
    with pytest.raises(InputError, match="no 51 SWG"):
        gauges.swg_diameter_mm(51)
    with pytest.raises(InputError, match="no 8/0 SWG"):
        gauges.swg_diameter_mm(-7)
    for number in (math.nan, -5.1, 60.1):
        with pytest.raises(InputError, match="AWG number"):
            gauges.awg_diameter_mm(number)
    for diameter_mm in (0.0, -1.0, math.nan, math.inf):
        with pytest.raises(InputError, match="above 0 mm"):
            gauges.awg_number(diameter_mm)
