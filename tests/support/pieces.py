"""Short pieces of brass wire, evaluated with the shipped metals, for checks against closed forms."""

from formsketch.bench.metals import load_metals
from formsketch.design.model import Design, End, Form, Hammer, PlainEnd, Run, Span, Wire
from formsketch.evaluation.evaluate import Evaluation, evaluate

PLAIN = PlainEnd()


def evaluated(
    *spans: Span, d: float = 1.0, spread: float = 0.6, start: End = PLAIN, finish: End = PLAIN
) -> Evaluation:
    """These spans once, in wire of diameter `d` mm."""
    design = Design(
        title="piece",
        wire=Wire(metal="brass-c26000", diameter_mm=d),
        hammer=Hammer(spread=spread),
        form=Form(runs=(Run(spans=spans),), start=start, finish=finish),
    )
    return evaluate(design, load_metals())
