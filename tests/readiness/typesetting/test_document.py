"""The file: tagged, dated, the same each time. Held against ISO 32000-1, read by pypdf."""

import datetime
import re
from concurrent.futures import ThreadPoolExecutor

import pytest

from readiness.typesetting.document import Box, Document
from readiness.typesetting.drawing import Drawing
from readiness.typesetting.lines import Paragraph
from tests.support.letters.tagged import Content, Element, contents, elements, parents, read

DAY = datetime.date(2026, 3, 4)
TEXTS = {
    "H1": "What ליאור works on",
    "P": "Zoë & Ольга, किर्ति, น้ำใจ",
    "H2": "Next (and (then)) \\ 100 %",
}


def across() -> Drawing:
    """A line along its lower side, from where text begins."""
    made = Drawing(height=10)
    made.line([(0, 0), (200, 0)], 0.75)
    return made


def made(second_page: str = "Once more", language: str = "en") -> bytes:
    document = Document("Títle \U0001f938 ליאור", "Lantern Yard", "A letter", language, DAY)
    page = document.add_page(595, 842)
    for at, (tag, text) in enumerate(TEXTS.items()):
        page.text(tag, Paragraph(text).lines(40_000), Box(50, 800 - 40 * at, 495), 12, 16)
    page.draw(across(), Box(50, 600, 495))
    page = document.add_page(595, 842)
    page.text("P", Paragraph(second_page).lines(10_000), Box(50, 800, 495), 12, 16)
    return document.file()


def test_every_marked_content_is_reached_from_the_tree_and_names_its_parent():
    file = made()
    found = elements(file)
    assert [(each.tag, each.page, each.place) for each in found] == [
        ("/H1", 0, 0), ("/P", 0, 1), ("/H2", 0, 2), ("/P", 1, 0),
    ]  # fmt: skip
    reached = {(each.page, each.place): each.tag for each in found}
    assert parents(file) == reached
    tagged = [each for each in contents(file) if each.place is not None]
    assert {(each.page, each.place): each.tag for each in tagged} == reached


def test_what_is_not_read_is_an_artifact():
    assert [each for each in contents(made()) if each.place is None] == [
        Content("/Artifact", 0, None, ("S",))
    ]


def test_a_text_that_is_turned_is_given_in_the_order_of_reading():
    said = {each.tag: each.said for each in elements(made())}
    assert said == {"/H1": TEXTS["H1"], "/P": "", "/H2": ""}
    assert Element("/P", 1, 0, "דנה") in elements(made("דנה"))


def test_the_file_names_its_title_language_and_day():
    reader = read(made())
    root, about = reader.trailer["/Root"], reader.metadata
    assert (about.title, about.author, about.subject) == (
        "Títle \U0001f938 ליאור", "Lantern Yard", "A letter",
    )  # fmt: skip
    assert about.creation_date.date() == about.modification_date.date() == DAY
    assert root["/Lang"] == "en"
    assert root["/MarkInfo"]["/Marked"]
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert [page["/Tabs"] for page in reader.pages] == ["/S", "/S"]


def test_the_same_input_gives_the_same_bytes():
    assert made() == made()
    assert made() != made("Once more!")


def test_documents_made_at_the_same_time_do_not_mix():
    texts = [f"Only for {each}, Łukasz & Ольга" for each in range(24)]
    alone = [made(text) for text in texts]
    with ThreadPoolExecutor(6) as pool:
        assert list(pool.map(made, texts)) == alone


def test_faces_are_inside_and_hold_what_is_used_alone():
    for page in read(made()).pages:
        for font in page["/Resources"]["/Font"].values():
            (inner,) = font["/DescendantFonts"]
            file = inner.get_object()["/FontDescriptor"]["/FontFile2"].get_data()
            assert file[:4] == b"\0\1\0\0"
            assert len(file) < 10_000
            # Six letters say that it is a part of the face (9.6.4).
            assert re.fullmatch(r"/[A-Z]{6}\+\w+-Regular", font["/BaseFont"])


@pytest.mark.parametrize(("language", "moved"), [("en", "1 0 0 1 50"), ("ar", "-1 0 0 1 545")])
def test_a_drawing_begins_where_lines_do(language, moved):
    """8.3.4: the matrix turns it about where text runs from right to left."""
    document = Document("T", "A", "S", language, DAY)
    document.add_page(595, 842).draw(across(), Box(50, 600, 495))
    # 7.3.3: 590.000 is the number 590.
    drawn = read(document.file()).pages[0]["/Contents"].get_data().decode().replace(".000", "")
    assert f"{moved} 590 cm" in drawn
    assert "0 0 m 200 0 l\nS" in drawn


@pytest.mark.parametrize(("language", "left"), [("en", 50), ("ar", 345)])
def test_a_drawing_that_says_something_is_a_figure(language, left):
    document = Document("T", "A", "S", language, DAY)
    document.add_page(595, 842).draw(across(), Box(50, 600, 200), "A line")
    file = document.file()
    assert [each.tag for each in elements(file)] == ["/Figure"]
    (figure,) = read(file).trailer["/Root"]["/StructTreeRoot"]["/K"][0]["/K"]
    assert figure["/Alt"] == "A line"
    assert figure["/A"]["/BBox"] == [left, 590, left + 200, 600]


def test_lines_from_right_to_left_end_at_the_right():
    document = Document("T", "A", "S", "en", DAY)
    (line,) = Paragraph("ליאור", base=None).lines(40_000)
    document.add_page(595, 842).text("P", [line], Box(50, 800, 495), 10, 14)
    begins = []
    page = read(document.file()).pages[0]
    page.extract_text(visitor_text=lambda text, _cm, tm, *_rest: begins.append((text, tm[4])))
    (left,) = {place for text, place in begins if text.strip()}
    assert left == pytest.approx(50 + 495 - line.width / 100, abs=0.01)
