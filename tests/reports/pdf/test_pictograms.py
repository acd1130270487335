"""The nine pictograms: red frame on its point, black symbol that keeps clear of it, each unlike the others."""

import io
import re

import pypdfium2
import pytest
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from prep.errors import PrepError
from prep.reports.pdf import pictograms
from prep.safety.clp import label_elements

MM = 72 / 25.4


def rendered(code: str, size_mm: float, pixels_per_mm: float = 20) -> Image.Image:
    """The pictogram alone on a page of its size, as a printer would see it."""
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=(size_mm * MM, size_mm * MM), invariant=1)
    pictograms.draw(canvas, code, 0, 0, size_mm * MM)
    canvas.save()
    page = pypdfium2.PdfDocument(file.getvalue())[0]
    return page.render(scale=pixels_per_mm / MM).to_pil().convert("RGB")


@pytest.mark.parametrize("code", label_elements.PICTOGRAMS)
def test_red_square_on_its_point_and_white_ground(code: str) -> None:
    image = rendered(code, 20)
    width, height = image.size
    for x, y in ((0.03, 0.5), (0.97, 0.5), (0.5, 0.03), (0.5, 0.97), (0.27, 0.27), (0.73, 0.73)):
        red, green, blue = image.getpixel((int(x * width), int(y * height)))
        assert red > 180, (x, y)
        assert green < 70, (x, y)
        assert blue < 70, (x, y)
    for x, y in ((0.1, 0.1), (0.9, 0.1), (0.1, 0.9), (0.9, 0.9)):
        assert image.getpixel((int(x * width), int(y * height))) == (255, 255, 255)


@pytest.mark.parametrize("code", label_elements.PICTOGRAMS)
def test_the_symbol_is_black_and_keeps_inside_the_frame(code: str) -> None:
    assert {shape.fill for shape in pictograms.shapes(code)[2:]} <= {"#000000", "#ffffff"}
    image = rendered(code, 20)
    width, height = image.size
    dark = [(x, y) for x in range(0, width, 2) for y in range(0, height, 2) if max(image.getpixel((x, y))) < 90]
    assert 0.03 < 4 * len(dark) / (width * height) < 0.25
    assert max(abs(x / width - 0.5) + abs(y / height - 0.5) for x, y in dark) < 0.425


def test_no_two_are_alike_at_eight_millimetres() -> None:
    small = {code: rendered(code, 8, 12).convert("L") for code in label_elements.PICTOGRAMS}
    for a in small:
        for b in small:
            if a < b:
                pairs = zip(small[a].tobytes(), small[b].tobytes(), strict=True)
                assert sum(abs(p - q) > 100 for p, q in pairs) > 150, (a, b)


@pytest.mark.parametrize("code", label_elements.PICTOGRAMS)
def test_the_shapes_have_only_the_commands_they_promise(code: str) -> None:
    for data in [shape.data for shape in pictograms.shapes(code)]:
        assert re.fullmatch(r"[MLCQZ0-9 .-]+", data)


def test_an_unknown_code_is_a_sentence() -> None:
    with pytest.raises(PrepError, match="GHS10"):
        pictograms.shapes("GHS10")
