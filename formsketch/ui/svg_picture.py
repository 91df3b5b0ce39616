"""An SVG drawing as pixels, in its true shape, without letting it read other files or draw for ever.

resvg draws it: it knows more of SVG than Qt's own renderer, which follows a drawing's references to files
anywhere. It draws in a process of its own, because a few lines of SVG can ask for hours of work or for more
stack than there is; then only that process ends.
"""

from __future__ import annotations

import json
import math
import re
import signal
import subprocess
import sys
from xml.parsers import expat
from xml.sax.saxutils import quoteattr

from formsketch.errors import InputError, shown
from formsketch.template.drawing import font_file
from formsketch.ui.picture_file import MOST_SIDES_RATIO
from formsketch.units import MM_PER_INCH
from formsketch.values import Value

LARGEST_SVG_BYTES = 8_000_000
LONGEST_SIDE_PX = 3_000
_SAME_SHAPE = 0.01
# The drawing process is given up after so long. Where the system can hold it to them, these end it before:
# seconds of the processor, which another program's work does not use up, and bytes of memory.
MOST_SECONDS = 30.0
_MOST_PROCESSOR_SECONDS, _MOST_MEMORY_BYTES = 8, 500_000_000
DEEPEST_NESTING = 200
# Elements that bring in other pictures, files among them.
_BRINGS_IN = {"image", "feImage"}
# A pixel is 1/96 inch and a point 1/72 (CSS 2.1, section 4.3.2); a number alone is pixels.
_UNITS_MM = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH, "pt": MM_PER_INCH / 72, "pc": MM_PER_INCH / 6}
_PX_MM = MM_PER_INCH / 96
_LENGTH = re.compile(r"\s*([0-9]*\.?[0-9]+(?:[eE][-+]?[0-9]{1,3})?)\s*(mm|cm|in|pt|pc|px|)\s*")
_START_TAG = re.compile(r"""<[^\s/>]+(?:[^>"'/]|"[^"]*"|'[^']*')*""")
_TOO_LONG = "this SVG drawing takes too long to draw; save it as PNG instead."
_DRAW = """
import json, sys
try:
    import resource
    seconds, most = int(sys.argv[2]), int(sys.argv[3])
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
    resource.setrlimit(resource.RLIMIT_AS, (most, most))
except ImportError:
    pass
import resvg_py
try:
    drawn = resvg_py.svg_to_bytes(svg_string=sys.stdin.buffer.read().decode(), **json.loads(sys.argv[1]))
except ValueError as fault:
    sys.exit(str(fault))
sys.stdout.buffer.write(bytes(drawn))
"""


class DrawnSvg(Value, frozen=True):
    """The drawing as a PNG on nothing, its shape, and its true width where it says one."""

    png: bytes
    height_to_width: float
    width_mm: float | None


def drawn_svg(data: bytes, name: str) -> DrawnSvg:
    """Draw an SVG, `LONGEST_SIDE_PX` long. Raises `InputError`; `name` is used in messages."""
    if len(data) > LARGEST_SVG_BYTES:
        limit = LARGEST_SVG_BYTES // 1_000_000
        raise InputError(f"{name}: an SVG drawing of at most {limit} MB was expected.")
    drawing = _Drawing(name)
    text = drawing.read(data)
    ratio, width_mm = _shape(drawing.root, name)
    return DrawnSvg(_drawn(_resized(text, drawing, ratio), name), ratio, width_mm)


class _Drawing:
    """Looks at a drawing's elements as they are read. Raises `InputError` for what is not drawn here."""

    def __init__(self, name: str) -> None:
        self._name, self._depth = name, 0
        self.root: dict[str, str] = {}
        self.tag, self.begins_at = "", 0

    def read(self, data: bytes) -> str:
        """The drawing's text, once it is known to be one and to bring nothing in."""
        # As UTF-8 whatever the drawing says of its coding, so that all readers see the same letters.
        self._parser = expat.ParserCreate("utf-8")
        self._parser.StartElementHandler = self._begin
        self._parser.EndElementHandler = self._end
        try:
            text = data.decode("utf-8-sig")
            self._parser.Parse(text.encode(), True)
        except (UnicodeDecodeError, expat.ExpatError):
            raise InputError(
                f"{self._name}: a PNG, JPEG or SVG picture was expected, this is none."
            ) from None
        return text

    def _begin(self, tag: str, attributes: dict[str, str]) -> None:
        kind = tag.rpartition(":")[2]
        if self._depth == 0:
            self.tag, self.root, self.begins_at = tag, attributes, self._parser.CurrentByteIndex
            if kind != "svg":
                raise InputError(f"{self._name}: a PNG, JPEG or SVG picture was expected, this is none.")
        if kind in _BRINGS_IN:
            raise InputError(
                f"{self._name}: this SVG drawing holds another picture; save that one as PNG or JPEG instead."
            )
        self._depth += 1
        if self._depth > DEEPEST_NESTING:
            raise InputError(f"{self._name}: this SVG drawing is too involved; save it as PNG instead.")

    def _end(self, _tag: str) -> None:
        self._depth -= 1


def _shape(root: dict[str, str], name: str) -> tuple[float, float | None]:
    """Height / width, and the true width in mm where the drawing gives one. Raises `InputError`."""
    wide, high = _LENGTH.fullmatch(root.get("width", "")), _LENGTH.fullmatch(root.get("height", ""))
    if wide and high:
        sides = _mm(wide), _mm(high)
    else:
        box = _view_box(root)
        sides = box[2:] if len(box) == 4 else (0.0, 0.0)
    said = min(sides) > 0 and max(sides) < math.inf
    ratio = sides[1] / sides[0] if said else 0.0
    if not 1 / MOST_SIDES_RATIO <= ratio <= MOST_SIDES_RATIO:
        raise InputError(
            f"{name}: an SVG drawing that says its size was expected, at most {MOST_SIDES_RATIO:.0f} times "
            "as long as wide."
        )
    return ratio, _mm(wide) if wide and wide[2] in _UNITS_MM else None


def _mm(length: re.Match[str]) -> float:
    return float(length[1]) * _UNITS_MM.get(length[2], _PX_MM)


def _view_box(root: dict[str, str]) -> tuple[float, ...]:
    try:
        return tuple(float(part) for part in root.get("viewBox", "").replace(",", " ").split())
    except ValueError:
        return ()


def _resized(text: str, drawing: _Drawing, ratio: float) -> str:
    """The drawing made as many whole pixels large as are wanted: resvg rounds any other size, and crops."""
    longest = LONGEST_SIDE_PX / max(1.0, ratio)
    root = dict(drawing.root)
    if "viewBox" not in root:
        sides = [
            _mm(match) / _PX_MM for key in ("width", "height") if (match := _LENGTH.fullmatch(root[key]))
        ]
        root["viewBox"] = f"0 0 {sides[0]!r} {sides[1]!r}"
    box = _view_box(root)
    if len(box) == 4 and abs(box[3] - ratio * box[2]) <= _SAME_SHAPE * box[3]:
        # It fills its picture to the last pixel, though the pixels are rounded.
        root["preserveAspectRatio"] = "none"
    root["width"], root["height"] = str(max(1, round(longest))), str(max(1, round(longest * ratio)))
    data = text.encode()
    rest = data[drawing.begins_at :].decode()
    tag = _START_TAG.match(rest)
    attributes = "".join(f" {key}={quoteattr(value)}" for key, value in root.items())
    after = rest[tag.end() :] if tag else rest
    return f"{data[: drawing.begins_at].decode()}<{drawing.tag}{attributes}{after}"


def _drawn(text: str, name: str) -> bytes:
    options = {
        "skip_system_fonts": True,
        "font_files": [str(font_file(bold)) for bold in (False, True)],
        "font_family": "Noto Sans",
        "dpi": 96.0,
    }
    limits = str(_MOST_PROCESSOR_SECONDS), str(_MOST_MEMORY_BYTES)
    try:
        # -P: nothing is imported from the folder the program happens to be in.
        done = subprocess.run(
            [sys.executable, "-P", "-c", _DRAW, json.dumps(options), *limits],
            input=text.encode(),
            capture_output=True,
            timeout=MOST_SECONDS,
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
    except subprocess.TimeoutExpired:
        raise InputError(f"{name}: {_TOO_LONG}") from None
    except OSError as fault:
        raise InputError(f"{name}: SVG drawings cannot be drawn here ({fault.strerror}).") from fault
    if done.returncode == -getattr(signal, "SIGXCPU", 0) != 0:
        raise InputError(f"{name}: {_TOO_LONG}")
    if done.returncode < 0:  # ended by the system: memory, or a stack that has no end
        raise InputError(
            f"{name}: this SVG drawing cannot be drawn, it asks for too much; save it as PNG instead."
        )
    if done.returncode != 0:
        said = done.stderr.decode("utf-8", "replace").strip().splitlines()
        why = f" ({shown(said[-1])})" if said else ""
        raise InputError(f"{name}: this SVG drawing cannot be drawn{why}.")
    return done.stdout
