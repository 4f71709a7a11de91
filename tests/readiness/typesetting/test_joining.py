"""Several files as one, read by pypdf."""

import datetime
import io

import pypdf
import pytest
from reportlab.pdfgen.canvas import Canvas

from readiness.typesetting.document import Box, Document
from readiness.typesetting.drawing import Drawing
from readiness.typesetting.joining import Joined
from tests.support.letters.tagged import figures, read

DAY = datetime.date(2026, 3, 4)
# What a reference looks like, in letters of one byte and of two: U+3120, U+3020, U+5220.
LIKE_REFERENCES = ("1 0 R", "(1 0 R) \\", "\u3120\u3020\u5220")


def figure(shows: str) -> bytes:
    document = Document("A figure", "Lantern Yard", "A figure", "en", DAY)
    document.add_page(595, 842).draw(Drawing(10), Box(50, 800, 100), shows)
    return document.file()


def bare(text: str) -> bytes:
    """As another program writes one."""
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=(400, 500))
    canvas.drawString(50, 300, text)
    canvas.save()
    return file.getvalue()


@pytest.mark.parametrize("shows", LIKE_REFERENCES)
def test_what_looks_like_a_reference_in_a_text_stays_as_it_is(shows):
    joined = Joined("Figures")
    joined.add("One", figure("another"))
    joined.add("Two", figure(shows))
    assert figures(read(joined.file())) == ["another", shows]


def test_files_without_tags_are_taken_too():
    joined = Joined("All")
    for name, file in (("A", bare("First")), ("B", figure("a line")), ("C", bare("Last"))):
        joined.add(name, file)
    whole = pypdf.PdfReader(io.BytesIO(joined.file()), strict=True)
    assert [page.extract_text().strip() for page in whole.pages] == ["First", "", "", "", "Last"]
    assert [float(page.mediabox.width) for page in whole.pages] == [400, 400, 595, 595, 400]
    assert whole.metadata.title == "All"


def test_no_file_makes_none():
    with pytest.raises(ValueError, match="no table"):
        Joined("None").add("A", b"%PDF-1.7\nstartxref\n0\n%%EOF")
