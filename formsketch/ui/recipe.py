"""A bracelet in a few pulls: the steps of the recipe, and the page that shows them."""

from __future__ import annotations

from formsketch.shipped import resource
from formsketch.values import Value

TITLE = "A bracelet in a few pulls"
PICTURE_WIDTH_PX = 640


class RecipeStep(Value, frozen=True):
    """One step: what it is called, and what to do."""

    name: str
    text: str


STEPS: tuple[RecipeStep, ...] = (
    RecipeStep("begin", "Press <b>Ctrl+N</b>. Choose <i>Row of S-forms</i>, type 8 loops, and <i>Begin</i>."),
    RecipeStep(
        "open",
        "Click a loop. Drag the square at its belly outward, away from the row: the loop opens, and so do "
        "the others, for they are one loop repeated. Escape puts a pull back.",
    ),
    RecipeStep(
        "hammer", "Drag one of the diamonds beside it outward: the loops are hammered wider and thinner."
    ),
    RecipeStep(
        "grade", "Choose <i>Form, Repeats and grading</i> and give the loops at the ends 70 % of the size."
    ),
    RecipeStep("catch", "Press <b>Ctrl+E</b>. Choose a hook for the start and an eye for the finish."),
    RecipeStep(
        "size",
        "Read the length beside <i>Height × length</i>. The piece is to be 160 mm long: choose "
        "<i>Form, Scale</i> and type 160 divided by that length, in per cent.",
    ),
    RecipeStep(
        "level",
        "Press <b>Ctrl+L</b>: the bracelet lies level, whole in view. Below it is the wire to cut, with its "
        "marks and the tube for every bend.",
    ),
)


def picture_name(number: int) -> str:
    """File name of the picture of a step, counted from 1."""
    return f"recipe-{number}.png"


def recipe_page() -> str:
    """The steps with their pictures."""
    items = "".join(
        f"<li><p>{step.text}</p><p><img src='{resource('pictures', picture_name(number)).as_uri()}' "
        f"width='{PICTURE_WIDTH_PX}'></p></li>"
        for number, step in enumerate(STEPS, start=1)
    )
    return (
        f"<h2>{TITLE}</h2><p>Eight S-forms from one wire, hammered, smaller towards the catch, 160 mm long: "
        f"two pulls and some twenty clicks.</p><ol>{items}</ol>"
    )
