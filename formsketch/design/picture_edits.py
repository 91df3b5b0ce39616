"""Edits of the picture to trace. Each returns a sound design or raises `EditRefused`."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from formsketch.design.edits import checked
from formsketch.design.model import Design, Picture
from formsketch.errors import EditRefused


def with_picture(design: Design, picture: Picture | None) -> Design:
    """The design over another picture, or over none."""
    return checked(replace(design, picture=picture))


def change_picture(design: Design, **changes: Any) -> Design:
    """The design with some fields of its picture changed, such as `opacity=0.3`."""
    if design.picture is None:
        raise EditRefused("There is no picture under the form.")
    return with_picture(design, replace(design.picture, **changes))
