"""Money: sums by hand, troy weights, what is counted in a design, and the maker's file of rates.

Sources: 1 ozt = 31.1034768 g = 20 dwt [P]; 100 mm of 1.02 mm sterling weighs 0.84654487 g (density 10.36)
[P, D]; 14 karat is 14/24 fine [P].
"""

import json
import math
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from msgspec.structs import replace

from formsketch.bench import rates
from formsketch.bench.rates import (
    Alloy,
    Finding,
    MetalPrice,
    Minutes,
    Prices,
    checked_prices,
    load_prices,
    save_prices,
)
from formsketch.cli import commands
from formsketch.comparison.differences import difference_rows, price_figure
from formsketch.comparison.variants import Candidate
from formsketch.design.file_format import design_bytes
from formsketch.design.model import BeadEnd, Design, Flare, Form, Run, Span, Wire
from formsketch.errors import FormSketchError, InputError, TableError
from formsketch.evaluation.evaluate import evaluate
from formsketch.evaluation.price import (
    Work,
    age_text,
    cost_of,
    money_text,
    price_data,
    price_of,
    price_text,
    work_in,
)

TODAY = date(2026, 11, 25)
STRAIGHT = Design(
    title="Wire",
    wire=Wire(metal="sterling-925", diameter_mm=1.02),
    form=Form(runs=(Run(spans=(Span(length_mm=100.0),)),)),
)
LOOP = Span(length_mm=20.0, turn_deg=230.0, flare=Flare(thickness=0.5))
ROW = replace(
    STRAIGHT,
    form=Form(
        runs=(Run(spans=(Span(length_mm=5.0), LOOP), times=4, turned_over=True),),
        start=BeadEnd(diameter_mm=2.4),
    ),
)
SILVER = MetalPrice(of="silver", price=31.1034768, per="ozt", date="2026-11-20")
FULL = Prices(
    currency="EUR",
    fine=(SILVER,),
    loss_percent=10.0,
    rate_per_hour=60.0,
    minutes=Minutes(straighten=1, mark=2, bend_each=3, hammer_each=4, open=5, bead_each=6, true=7, finish=8),
    findings=(Finding(name="Box", price=1.25), Finding(name="Ring", price=0.4, count=3)),
    wholesale_times=2.0,
    retail_times=2.5,
)


@pytest.fixture(autouse=True)
def own_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    monkeypatch.setattr(rates, "user_tables_folder", lambda: tmp_path / "own")
    return tmp_path / "own"


@pytest.mark.parametrize(("per", "grams"), [("g", 1.0), ("dwt", 31.1034768 / 20), ("ozt", 31.1034768)])
def test_metal_is_priced_by_gram_pennyweight_or_troy_ounce(per: str, grams: float) -> None:
    bought = MetalPrice(of="sterling-925", price=3.0, per=per, date="2026-11-20")  # type: ignore[arg-type]
    cost = cost_of(evaluate(STRAIGHT), Prices(alloys_bought=(bought,)))
    assert cost == pytest.approx(3.0 * 0.84654487 / grams, rel=1e-7)


def test_fine_metal_is_priced_by_the_share_of_it() -> None:
    assert cost_of(evaluate(STRAIGHT), Prices(fine=(SILVER,))) == pytest.approx(0.925 * 0.84654487, rel=1e-7)
    own = Prices(fine=(SILVER,), alloys=(Alloy(metal="sterling-925", of="silver", fineness=0.93),))
    assert cost_of(evaluate(STRAIGHT), own) == pytest.approx(0.93 * 0.84654487, rel=1e-7)
    gold = replace(STRAIGHT, wire=replace(STRAIGHT.wire, metal="gold-14k-yellow-us"))
    fine = MetalPrice(of="gold", price=24.0, per="g", date="2026-11-20")
    # 1.06798662 g at a density of 13.07.
    assert cost_of(evaluate(gold), Prices(fine=(fine,))) == pytest.approx(14.0 * 1.06798662, rel=1e-7)


def test_a_price_of_the_alloy_itself_comes_before_that_of_its_fine_metal() -> None:
    bought = MetalPrice(of="sterling-925", price=2.0, per="g", date="2026-11-20")
    prices = Prices(fine=(SILVER,), alloys_bought=(bought,))
    assert cost_of(evaluate(STRAIGHT), prices) == pytest.approx(2.0 * 0.84654487, rel=1e-7)


def test_work_is_counted_in_the_design() -> None:
    assert work_in(evaluate(STRAIGHT)) == Work(loops=0, flares=0, beads=0, opened=False)
    assert work_in(evaluate(ROW)) == Work(loops=4, flares=4, beads=1, opened=True)
    half = replace(LOOP, length_mm=10.0, turn_deg=115.0, flare=Flare(thickness=0.5, end=0.5))
    other = replace(half, flare=Flare(thickness=0.5, begin=0.5))
    parted = replace(STRAIGHT, form=Form(runs=(Run(spans=(half, other)),)))
    # One flare across a mark is hammered once.
    assert work_in(evaluate(parted)) == Work(loops=2, flares=1, beads=0, opened=False)


def test_every_line_by_hand() -> None:
    e = evaluate(ROW)
    sheet = price_of(e, FULL, TODAY)
    assert sheet.metal.amount == pytest.approx(0.925 * 1.1 * e.weight_g)
    assert [(line.label, line.amount) for line in sheet.labour] == [
        ("Straighten", 1.0), ("Mark", 2.0), ("Bend", 12.0), ("Hammer", 16.0), ("Open", 5.0),
        ("Melt beads", 6.0), ("True", 7.0), ("Finish", 8.0),
    ]  # fmt: skip
    assert (sheet.labour_sum, sheet.minutes) == (57.0, 57.0)  # 60 an hour is 1 a minute
    assert sheet.findings_sum == pytest.approx(2.45)
    cost = 0.925 * 1.1 * e.weight_g + 57.0 + 2.45
    assert sheet.cost == pytest.approx(cost) and cost_of(e, FULL) == pytest.approx(cost)
    assert (sheet.wholesale, sheet.retail) == (pytest.approx(2 * cost), pytest.approx(5 * cost))
    data = json.loads(json.dumps(price_data(sheet, TODAY), allow_nan=False))
    assert math.fsum(line["amount"] for line in data["lines"]) == pytest.approx(data["cost"])
    assert (data["metal_price_date"], data["metal_price_age_days"]) == ("2026-11-20", 5)
    text = price_text(sheet)
    for line in (sheet.metal, *sheet.labour, *sheet.findings):
        assert money_text(line.amount, "EUR") in text
    assert "Prices are estimates until the piece is weighed." in text


def test_nothing_is_rounded_before_it_is_shown() -> None:
    third = Finding(name="Third", price=0.333)
    prices = replace(FULL, findings=(third, replace(third, name="b"), replace(third, name="c")))
    assert price_of(evaluate(ROW), prices, TODAY).findings_sum == pytest.approx(0.999)
    assert money_text(0.999, "EUR") == "1.00 EUR"
    assert money_text(1234.5, "") == "1,234.50"
    assert money_text(None, "EUR") == "not known"


def test_a_metal_without_a_price_is_said_to_have_none() -> None:
    e = evaluate(replace(STRAIGHT, wire=replace(STRAIGHT.wire, metal="brass-c26000")))
    sheet = price_of(e, FULL, TODAY)
    assert (sheet.cost, sheet.wholesale, sheet.retail) == (None, None, None)
    assert sheet.labour_sum == 1 + 2 + 7 + 8
    assert "No price has been entered for Brass C26000 (70/30)." in sheet.notes
    with pytest.raises(InputError, match="No price has been entered for Brass"):
        cost_of(e, FULL)


@pytest.mark.parametrize(
    ("dated", "text", "old"),
    [
        ("2026-11-25", "of today", False),
        ("2026-11-24", "1 day old", False),
        ("2026-10-25", "31 days old", True),
        ("2026-11-27", "dated 2 days ahead", True),
    ],
)
def test_an_old_price_is_said_to_be_old(dated: str, text: str, old: bool) -> None:
    assert age_text(date.fromisoformat(dated), TODAY) == text
    notes = price_of(evaluate(STRAIGHT), Prices(fine=(replace(SILVER, date=dated),)), TODAY).notes
    assert any(text in note and "price of the day" in note for note in notes) == old


# The maker's file


def test_rates_are_kept_and_come_back_the_same(own_folder: Path) -> None:
    file = rates.rates_file()
    assert load_prices(file) == Prices()
    save_prices(file, FULL)
    assert load_prices(file) == FULL
    assert file == own_folder / "rates.json"
    assert [item.name for item in own_folder.iterdir()] == ["rates.json"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{", "sound JSON was expected"),
        ('{"format": "formsketch-metals", "version": 1, "rates": []}', "formsketch-rates"),
        ('{"format": "formsketch-rates", "version": 1, "rates": [{"title": "a", "rate": 1}]}', "rate"),
        (
            '{"format": "formsketch-rates", "version": 1, "rates": [{"title": "a", "loss_percent": 101}]}',
            "100",
        ),
        (
            '{"format": "formsketch-rates", "version": 1, "rates": [{"title": "a", "loss_percent": NaN}]}',
            "NaN",
        ),
        (
            '{"format": "formsketch-rates", "version": 1, "rates": [{"title": "a", "fine": '
            '[{"of": "gold", "price": 1, "per": "g", "date": "3 Nov"}]}]}',
            "a date such as 2026-11-03 was expected",
        ),
        (
            '{"format": "formsketch-rates", "version": 1, "rates": [{"title": "a", "fine": '
            '[{"of": "gold", "price": 1, "per": "kg", "date": "2026-11-03"}]}]}',
            "kg",
        ),
    ],
)
def test_a_bad_file_of_rates_is_explained(own_folder: Path, text: str, told: str) -> None:
    own_folder.mkdir()
    file = rates.rates_file()
    file.write_text(text)
    with pytest.raises(TableError) as fault:
        load_prices(file)
    assert told in str(fault.value) and "rates.json" in str(fault.value)
    assert file.read_text() == text


def test_rates_out_of_bounds_are_refused_and_the_file_stays(own_folder: Path) -> None:
    file = rates.rates_file()
    save_prices(file, FULL)
    before = file.read_bytes()
    for wrong in (replace(FULL, loss_percent=-1.0), replace(FULL, retail_times=0.5)):
        with pytest.raises(InputError):
            checked_prices(wrong)
        with pytest.raises(FormSketchError):
            save_prices(file, wrong)
    assert file.read_bytes() == before
    with pytest.raises(ValueError, match="each fine metal was expected once"):
        replace(FULL, fine=(SILVER, SILVER))


# The command


def test_the_command_prices_a_file(tmp_path: Path) -> None:
    file = tmp_path / "row.formsketch.json"
    file.write_bytes(design_bytes(ROW))
    save_prices(rates.rates_file(), FULL)
    data = json.loads(CliRunner().invoke(commands, ["price", str(file), "--json"]).output)
    assert data["labour"] == 57.0 and data["title"] == "Wire"
    text = CliRunner().invoke(commands, ["price", str(file)]).output
    assert money_text(data["retail"], "EUR") in text


def test_a_design_carries_no_rates() -> None:
    assert not {"price", "rate", "prices", "rates"} & set(Design.__struct_fields__)


def test_cost_stands_beside_the_forms_compared_once_it_is_priced() -> None:
    # Twice the price of the metal is twice the cost where nothing else is entered.
    bought = MetalPrice(of="sterling-925", price=2.0, per="g", date="2026-11-03")
    sheet = evaluate(STRAIGHT)
    for prices, shown in ((Prices(), "not priced"), (Prices(alloys_bought=(bought,), currency="EUR"), "EUR")):
        figure = price_figure(lambda prices=prices: prices)  # type: ignore[misc]
        beside = [Candidate("one", "", STRAIGHT, sheet), Candidate("two", "", STRAIGHT, sheet)]
        (row,) = difference_rows(beside, (figure,))
        assert all(shown in value for value in row.values)
        if shown == "EUR":
            assert figure.values(sheet) == (pytest.approx(2.0 * sheet.weight_g),)
