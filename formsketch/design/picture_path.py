"""Which paths of a picture a design file may name: inside the design's own folder, on any system."""

from __future__ import annotations

PICTURE_SUFFIXES = (".png", ".jpg", ".jpeg", ".svg")
# Characters that no file name can have on some system; a colon also begins a drive or a hidden stream.
_IN_NO_NAME = '\\:*?"<>|'


def picture_path_fault(file: str) -> str:
    """What was expected of a picture's path, "" when it is sound.

    Sound is a relative path with forward slashes whose every part is a name: none is empty or climbs
    (`..`), and none ends with a dot or a space, which some systems leave away and so let `.. ` climb.
    """
    if not file.lower().endswith(PICTURE_SUFFIXES):
        return f"expected a file that ends in {', '.join(PICTURE_SUFFIXES[:-1])} or {PICTURE_SUFFIXES[-1]}"
    if any(character in file for character in _IN_NO_NAME):
        return f"expected a path from the design's folder with forward slashes and none of {_IN_NO_NAME}"
    if any(not part or part.endswith((".", " ")) for part in file.split("/")):
        return "expected a path from the design's folder that does not leave it, such as sketches/tern.png"
    return ""


def portable_name(name: str) -> str:
    """A file's name made into one that is sound in a design and on any system; a sound one stays."""
    stem, dot, suffix = name.rpartition(".")
    kept = "".join("-" if c in _IN_NO_NAME or c in "/" or not c.isprintable() else c for c in stem)
    return f"{kept.strip(' .') or 'picture'}{dot}{suffix.lower()}"
