"""Odd pictures for tracing: shown or refused, whatever they claim, hold or point at."""

from __future__ import annotations

import io
import os
import random
import struct
import zlib
from collections.abc import Iterator
from pathlib import Path

from PIL import Image
from PySide6.QtGui import QGuiApplication

from formsketch.ui.picture_file import MOST_KEPT_PIXELS, inside, load_picture
from formsketch.ui.svg_picture import _MOST_PROCESSOR_SECONDS
from tests.trust.guard import Findings, Guard, listener
from tests.trust.mutate import mutated_bytes

SVG = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" {}>{}</svg>'
SIZED = 'width="40mm" height="20mm" viewBox="0 0 40 20"'
# The colour of what must not be seen, in files that a picture only points at.
SECRET = (255, 0, 255)


def png_of(wide: int, high: int, depth: int = 8, colour: int = 2, held_bytes: int = 1000) -> bytes:
    """A PNG that says it is this large and unfolds to so many bytes (PNG 1.2, sections 3 and 4)."""
    packer = zlib.compressobj(level=1)
    packed = [packer.compress(bytes(min(100_000, held_bytes - at))) for at in range(0, held_bytes, 100_000)]

    def chunk(kind: bytes, held: bytes) -> bytes:
        return struct.pack(">I", len(held)) + kind + held + struct.pack(">I", zlib.crc32(kind + held))

    header = struct.pack(">IIBBBBB", wide, high, depth, colour, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", b"".join([*packed, packer.flush()]))
        + chunk(b"IEND", b"")
    )


def saved(image: Image.Image, kind: str, **options: object) -> bytes:
    stream = io.BytesIO()
    image.save(stream, format=kind, **options)
    return stream.getvalue()


def odd_pixels() -> Iterator[tuple[str, bytes]]:
    """Pictures of pixels, by name."""
    plain = Image.new("RGB", (60, 40), "teal")
    for mode in ("1", "L", "P", "LA", "RGBA", "I;16"):
        yield f"png-{mode}", saved(Image.new(mode, (60, 40)), "PNG")
    yield "cmyk", saved(plain.convert("CMYK"), "JPEG")
    yield "one-pixel", saved(Image.new("RGB", (1, 1)), "PNG")
    for turned in range(10):
        exif = Image.Exif()
        exif[0x0112] = turned
        yield f"exif-{turned}", saved(plain, "JPEG", exif=exif)
    exif = Image.Exif()
    exif[0x010E] = "x" * 60_000
    yield "long-exif", saved(plain, "JPEG", exif=exif)
    yield "progressive", saved(plain, "JPEG", progressive=True)
    for size in (
        (2**31 - 1, 2**31 - 1),
        (0, 0),
        (100_000, 1),
        (1, 100_000),
        (60_000, 60_000),
        (8_000, 7_000),
    ):
        yield f"claims-{size}", png_of(*size)
    yield "bomb", png_of(7_000, 7_000, held_bytes=7_000 * (3 * 7_000 + 1))
    yield "deep-bomb", png_of(5_400, 5_400, depth=16, colour=6, held_bytes=8 * 5_400 * 5_400 + 5_400)
    for share in (0.1, 0.5, 0.9, 0.99):
        data = saved(Image.effect_noise((200, 200), 50).convert("RGB"), "JPEG")
        yield f"jpeg-cut-{share}", data[: int(share * len(data))]
        data = saved(Image.effect_noise((200, 200), 50), "PNG")
        yield f"png-cut-{share}", data[: int(share * len(data))]
    for kind in ("GIF", "BMP", "TIFF", "WEBP", "ICO"):
        yield f"other-{kind}", saved(plain, kind)
    yield "nothing", b""
    yield "only-magic", b"\x89PNG\r\n\x1a\n"


def reference(name: str) -> str:
    return f"&{name};"


def odd_drawings(folder: Path, port: int) -> Iterator[tuple[str, bytes]]:
    """SVG drawings that point elsewhere, unfold or ask for endless work; `folder` has what they point at."""
    secret, fifo = (folder / "outside" / name for name in ("secret.png", "fifo.png"))
    web = f"http://127.0.0.1:{port}/x"
    box = '<rect width="40" height="20" fill="#0f0"/>'
    for to in (secret.as_uri(), str(secret), "../outside/secret.png", web, fifo.as_uri(), "//127.0.0.1/x"):
        for attribute in ("href", "xlink:href"):
            for tag in ("image", "use", "feImage", "pattern", "textPath", "script", "a", "linearGradient"):
                body = f'<{tag} {attribute}="{to}" width="40" height="20"/>{box}'
                yield f"{tag}-{attribute}-{to[:12]}", SVG.format(SIZED, body).encode()
        for style in (
            f"@import url({to});",
            f"@font-face{{font-family:f;src:url({to})}} text{{font-family:f}}",
            f"rect{{fill:url({to}#a);mask:url({to}#b);filter:url({to}#c);cursor:url({to})}}",
        ):
            yield (
                f"style-{to[:12]}-{style[:6]}",
                SVG.format(SIZED, f"<style>{style}</style>{box}<text>a</text>").encode(),
            )
        for entity in (f'<!ENTITY e SYSTEM "{to}">', f'<!ENTITY % e SYSTEM "{to}"> %e;'):
            head = f"<!DOCTYPE svg [{entity}]>"
            yield (
                f"entity-{to[:12]}-{entity[9]}",
                (head + SVG.format(SIZED, f"{box}<text>&e;</text>")).encode(),
            )
        yield f"dtd-{to[:12]}", f'<!DOCTYPE svg SYSTEM "{to}">{SVG.format(SIZED, box)}'.encode()
        yield f"sheet-{to[:12]}", f'<?xml-stylesheet href="{to}"?>{SVG.format(SIZED, box)}'.encode()
    laughs = "".join(f'<!ENTITY l{n + 1} "{10 * reference(f"l{n}")}">' for n in range(9))
    head = f'<!DOCTYPE svg [<!ENTITY l0 "ha">{laughs}]>'
    yield "laughs", (head + SVG.format(SIZED, f"<text>{reference('l9')}</text>")).encode()
    head = '<!DOCTYPE svg [<!ENTITY a "' + 50_000 * "x" + '">]>'
    yield "quadratic", (head + SVG.format(SIZED, f"<text>{5_000 * reference('a')}</text>")).encode()
    uses = '<g id="u0"><path d="M0 0h1v1z"/></g>'
    for number in range(9):
        use = f'<use href="#u{number}"/>'
        uses += f'<g id="u{number + 1}">{10 * use}</g>'
    yield "uses", SVG.format(SIZED, uses).encode()
    yield "use-itself", SVG.format(SIZED, '<g id="a"><use href="#a"/></g>').encode()
    pattern = '<pattern id="p" width="1e-6" height="1e-6"><path d="M0 0h1"/></pattern>'
    yield "pattern", SVG.format(SIZED, f'{pattern}<rect width="40" height="20" fill="url(#p)"/>').encode()
    for name, made in (
        ("blur", '<feGaussianBlur stdDeviation="1e9"/>'),
        ("morph", '<feMorphology operator="dilate" radius="1e5"/>'),
        ("noise", '<feTurbulence baseFrequency="0.9" numOctaves="100000"/>'),
        ("matrix", '<feConvolveMatrix order="500" kernelMatrix="' + "1 " * 250_000 + '"/>'),
        ("many", '<feGaussianBlur stdDeviation="50"/>' * 400),
    ):
        region = 'x="-1e6" y="-1e6" width="2e6" height="2e6" filterUnits="userSpaceOnUse"'
        body = f'<filter id="f" {region}>{made}</filter><rect width="40" height="20" filter="url(#f)"/>'
        yield f"filter-{name}", SVG.format(SIZED, body).encode()
    yield "long-path", SVG.format(SIZED, f'<path d="M0 0{"l1 1 -1 1" * 300_000}" stroke="red"/>').encode()
    yield "dashes", SVG.format(SIZED, '<path d="M0 0H40" stroke="red" stroke-dasharray="1e-7"/>').encode()
    yield "deep", SVG.format(SIZED, "<g>" * 50_000 + "</g>" * 50_000).encode()
    yield "opacities", SVG.format(SIZED, '<g opacity=".9">' * 190 + box + "</g>" * 190).encode()
    yield "letters", SVG.format(SIZED, f"<text>{'W' * 200_000}</text>").encode()
    for size in (
        'width="1e308" height="1e308"',
        'width="-5" height="5"',
        'viewBox="0 0 nan 1"',
        'width="1e-9mm" height="1e-9mm"',
    ):
        yield f"size-{size[:12]}", SVG.format(size, box).encode()
    yield "no-svg", b"<html><svg/></html>"
    yield "utf-16", SVG.format(SIZED, box).encode("utf-16")


def odd_paths(folder: Path) -> Iterator[tuple[str, bool]]:
    """What a design may call its picture, and whether that is inside its folder."""
    yield "inside.png", True
    yield "sub/inside.png", True
    yield "link-inside.png", True
    yield "link-out.png", False
    yield "linked-folder/secret.png", False
    yield "../outside/secret.png", False
    yield str(folder / "outside" / "secret.png"), False
    yield "sub/../../outside/secret.png", False
    yield "loop.png", False


def _lay_out(folder: Path) -> Path:
    """A design's folder beside one that holds what is nobody's business; the design's."""
    home, outside = folder / "home", folder / "outside"
    for made in (home / "sub", outside):
        made.mkdir(parents=True)
    secret = saved(Image.new("RGB", (40, 20), SECRET), "PNG")
    (outside / "secret.png").write_bytes(secret)
    os.mkfifo(outside / "fifo.png")
    for name in ("inside.png", "sub/inside.png"):
        (home / name).write_bytes(saved(Image.new("RGB", (40, 20), "teal"), "PNG"))
    (home / "link-inside.png").symlink_to(home / "inside.png")
    (home / "link-out.png").symlink_to(outside / "secret.png")
    (home / "linked-folder").symlink_to(outside)
    (home / "loop.png").symlink_to(home / "loop.png")
    return home


def fuzz_pictures(guard: Guard, count: int, number: int, clock: bool = True) -> Findings:
    """All odd pictures once, paths that climb, then slips in the bytes of pictures and drawings."""
    findings, choose = Findings("pictures", number), random.Random(number)
    _app = QGuiApplication([])
    home = _lay_out(guard.own)
    for path, is_inside in odd_paths(guard.own):
        found = None
        with guard.case(findings, f"path {path}", clock):
            found = inside(home, path)
        if (found is not None) != is_inside:
            findings.fault("a path's folder is mistaken", path)
    with listener() as (port, called):
        pixels = dict(odd_pixels())
        odd = [*pixels.items(), *odd_drawings(guard.own, port)]
        if count < len(odd):
            odd = choose.sample(odd, count)
        for name, data in odd:
            _look(guard, findings, home, name, data, clock)
        sound = [pixels[name] for name in ("cmyk", "png-RGBA", "exif-6", "progressive", "png-P")]
        drawing = SVG.format(
            SIZED, '<g transform="scale(2)"><path d="M0 0L5 5C1 2 3 4 5 6z" fill="red"/></g>'
        ).encode()
        for _ in range(count - len(odd)):
            # A drawing takes a process of its own, and so some fifty times as long as pixels.
            data = mutated_bytes(drawing if choose.random() < 0.1 else choose.choice(sound), choose)
            _look(guard, findings, home, ascii(data[:2000]), data, clock)
    for caller in called:
        findings.fault("the network was called", caller)
    return findings


def _look(guard: Guard, findings: Findings, home: Path, name: str, data: bytes, clock: bool) -> None:
    file = home / "case.png"
    file.write_bytes(data)
    with guard.case(findings, name, clock):
        if not data.startswith((b"\x89PNG", b"\xff\xd8\xff")):
            guard.allow(
                _MOST_PROCESSOR_SECONDS + 2.0
            )  # drawn in a process of its own, beside the window's work
        image = load_picture(file).image
        if image.width() * image.height() > 1.1 * MOST_KEPT_PIXELS:
            raise AssertionError("a picture larger than is kept")
        x, y = image.width() // 2, image.height() // 2
        colour = image.pixelColor(x, y)
        if (colour.red(), colour.green(), colour.blue()) == SECRET:
            findings.fault("a drawing shows what it only points at", name)
    if file.read_bytes() != data:
        findings.fault("a picture read is another file afterwards", name)
