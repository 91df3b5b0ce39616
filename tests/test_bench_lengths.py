"""Lengths and angles as people type them. Expected values are closed forms of the units' definitions."""

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formsketch.bench.lengths import parse_angle_deg, parse_length_mm
from formsketch.errors import InputError

INCH = 25.4


@pytest.mark.parametrize(
    ("text", "length_mm"),
    [
        ("12.5", 12.5),
        ("  12.5 mm ", 12.5),
        ("1.2cm", 12.0),
        (".5 in", 0.5 * INCH),
        ("1/2 in", INCH / 2),
        ('7/16"', 7 * INCH / 16),
        ("7/16″", 7 * INCH / 16),
        ("1 1/4 in", 1.25 * INCH),
        ("1½ in", 1.5 * INCH),
        ("3/32 in + 0.4", 3 * INCH / 32 + 0.4),
        ("1 in - 2 mm", INCH - 2),
        ("2 x 1/8 in", INCH / 4),
        ("1/2 x 12 mm", 6.0),
        ("10 mm / 4", 2.5),
        ("2x3", 6.0),
        ("2 × 3 − 1", 5.0),
        ("0", 0.0),
    ],
)
def test_lengths_understood(text: str, length_mm: float) -> None:
    assert parse_length_mm(text) == pytest.approx(length_mm, rel=1e-14)


@pytest.mark.parametrize("text", ["16 ga", "16 gauge", "16 B&S", "16 b&s gauge", "16 AWG", "16awg"])
def test_gauges_are_brown_and_sharpe_unless_said(text: str) -> None:
    # [P] ASTM B258: No. 16 is 1.290846 mm.
    assert parse_length_mm(text) == pytest.approx(1.290846, abs=5e-7)


def test_other_gauges() -> None:
    assert parse_length_mm("18 SWG") == pytest.approx(1.2192, rel=1e-12)  # [P] BS 3737
    assert parse_length_mm("2/0 SWG") == pytest.approx(0.348 * INCH, rel=1e-12)  # [P] BS 3737
    assert parse_length_mm("0000 AWG") == pytest.approx(0.46 * INCH, rel=1e-12)  # [P] ASTM B258
    assert parse_length_mm("16 ga + 18 SWG") == pytest.approx(1.290846 + 1.2192, abs=5e-7)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "Nothing was typed"),
        ("   ", "Nothing was typed"),
        ("abc", "a number was expected"),
        ("5 +", "a number was expected at the end"),
        ("3 4", "was expected before"),
        ("3 mm in", "was expected before"),
        ("12 ft", '"ft" is not a unit'),
        ("1/4", "a unit was expected after the fraction"),
        ("1/4 + 1/8 in", "a unit was expected after the fraction"),
        ("1,5", "full stop"),
        ("2 mm x 3 mm", "only a plain number"),
        ("6 / 2 mm", "only a plain number"),
        ("1/0 in", "divided by 0"),
        ("3 mm / 0", "divided by 0"),
        ("5 - 7", "0 or more"),
        ("-1", "0 or more"),
        ("16.5 ga", "whole gauge number"),
        ("51 SWG", "no 51 SWG"),
        ("99 AWG", "AWG number from"),
        ("5 # 3", '"#" is not understood'),
        ("(3 + 4) mm", "is not understood"),
        ("1" * 81, "at most 80 characters"),
        ("__import__('os')", "is not understood"),
    ],
)
def test_what_is_not_a_length_is_refused_in_one_sentence(text: str, said: str) -> None:
    with pytest.raises(InputError) as refusal:
        parse_length_mm(text)
    assert said in str(refusal.value)
    assert str(refusal.value).endswith(".")


@given(st.text(max_size=30))
def test_any_text_gives_a_length_or_an_input_error(text: str) -> None:
    with contextlib.suppress(InputError):
        assert parse_length_mm(text) >= 0


@given(st.floats(min_value=0, max_value=1e6, allow_subnormal=False))
def test_a_plain_number_is_read_as_python_reads_it(length_mm: float) -> None:
    text = f"{length_mm:.12f}"
    assert parse_length_mm(text) == float(text)


@pytest.mark.parametrize(
    ("text", "angle_deg"),
    [
        ("240", 240.0),
        ("-30°", -30.0),
        ("−30", -30.0),
        ("1/2 turn", 180.0),
        ("0.25 turns", 90.0),
        ("90 deg + 15", 105.0),
        ("360 / 7", 360.0 / 7.0),
    ],
)
def test_angles_understood(text: str, angle_deg: float) -> None:
    assert parse_angle_deg(text) == pytest.approx(angle_deg, rel=1e-14)


@pytest.mark.parametrize(("text", "said"), [("1/2", "1/2 turn"), ("30 mm", "not a unit"), ("", "an angle")])
def test_what_is_not_an_angle_is_refused(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        parse_angle_deg(text)
