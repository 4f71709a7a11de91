"""The page of a letter, and the file: who may have it, and what is refused."""

import uuid

import pytest
from django.http import HttpResponse
from django.test import Client

from readiness.models import LetterDraft, PrintedLetter
from tests.support.letters.files import text_of
from tests.support.pages import signed_in


def printed(staff, child, **typed) -> HttpResponse:
    """What comes of pressing the button: the file, or the page that says why not."""
    return signed_in(staff).post(f"/children/{child.uuid}/letter.pdf", typed, follow=True)


def test_the_page_shows_the_sentences_and_a_field_for_one_more(cast):
    answer = signed_in(cast.omar).get(f"/children/{cast.mai.uuid}/letter")
    page = answer.content.decode()
    assert answer.status_code == 200
    assert answer["Cache-Control"] == "no-store"
    assert "Mai is at the beginning of our ladder" in page
    assert f'formaction="/children/{cast.mai.uuid}/letter.pdf"' in page
    assert '<textarea name="own"' in page
    assert "Ilse" not in page


def test_the_sentence_is_read_on_the_page_before_it_is_printed(cast):
    own = "Mai asked for a hand & got it.\nI <3 that."
    answer = signed_in(cast.omar).post(f"/children/{cast.mai.uuid}/letter", {"own": own})
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "<p>Mai asked for a hand &amp; got it.<br>I &lt;3 that.</p>" in page


def test_the_file_has_the_sentence_that_was_typed(cast):
    own = "Mai asked for a hand & got it.\r\nI <3 that.\0"
    answer = printed(cast.omar, cast.mai, own=own)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Cache-Control"] == "no-store"
    assert "Mai asked for a hand & got it. I <3 that. In class" in text_of(answer.content)


def test_the_file_can_be_had_without_a_sentence(cast):
    answer = printed(cast.petra, cast.mai)
    assert answer.status_code == 200
    assert "Petra for Lantern Yard" in text_of(answer.content)


@pytest.mark.parametrize(
    ("name", "header"),
    [
        ("Mai Tran", 'attachment; filename="Letter about Mai Tran, 4 March 2026.pdf"'),
        (
            "Łukasz Żak",
            "attachment; filename*=utf-8''Letter%20about%20%C5%81ukasz%20%C5%BBak"
            "%2C%204%20March%202026.pdf",
        ),
        ('../a"b\r\nX: y', 'attachment; filename="Letter about -a-b X- y, 4 March 2026.pdf"'),
    ],
)
def test_the_file_name_is_right_or_plain(name, header, cast):
    cast.mai.name = name
    cast.mai.save(update_fields=["name"])
    answer = printed(cast.omar, cast.mai)
    assert answer.status_code == 200
    assert answer["Content-Disposition"] == header


def refused_with(answer: HttpResponse, sentence: str) -> None:
    assert answer.status_code == 422
    assert answer["Content-Type"].startswith("text/html")
    assert "Content-Disposition" not in answer
    assert sentence in answer.content.decode()


@pytest.mark.parametrize("address", ["letter", "letter.pdf"])
def test_a_sentence_with_a_character_that_has_no_type_is_refused_and_kept_in_the_field(
    address, cast
):
    answer = signed_in(cast.omar).post(f"/children/{cast.mai.uuid}/{address}", {"own": "Bravo 🤸"})
    refused_with(answer, "Mai Tran cannot be printed: no typeface here has 🤸 (U+1F938)")
    assert "Bravo 🤸</textarea>" in answer.content.decode()


def test_a_name_that_has_no_type_is_told_on_the_page_and_refused_as_a_file(cast):
    cast.mai.name = "陈美丽"
    cast.mai.save(update_fields=["name"])
    client = signed_in(cast.omar)
    sentence = (
        "陈美丽 cannot be printed: no typeface here has 陈 (U+9648), 美 (U+7F8E), 丽 (U+4E3D)"
    )
    page = client.get(f"/children/{cast.mai.uuid}/letter")
    assert page.status_code == 200
    assert sentence in page.content.decode()
    refused_with(printed(cast.omar, cast.mai), sentence)
    assert not PrintedLetter.objects.exists()


@pytest.mark.parametrize("address", ["letter", "letter.pdf"])
def test_a_sentence_that_is_too_long_is_refused_with_its_length(address, cast):
    client = signed_in(cast.omar)
    kept = client.post(f"/children/{cast.mai.uuid}/{address}", {"own": "é" * 300}, follow=True)
    assert kept.status_code == 200
    longer = client.post(f"/children/{cast.mai.uuid}/{address}", {"own": "é" * 301})
    refused_with(longer, "This is 301 characters long; the letter has room for 300.")


def test_a_sentence_of_too_many_lines_is_refused(cast):
    answer = signed_in(cast.omar).post(
        f"/children/{cast.mai.uuid}/letter.pdf", {"own": "a\n" * 150}
    )
    refused_with(answer, "Mai Tran is longer than two pages: shorten your sentence.")


@pytest.mark.parametrize("address", ["letter", "letter.pdf", "letter/prepare", "letters"])
@pytest.mark.parametrize(
    ("who", "status"),
    [("omar", 200), ("petra", 200), ("luis", 200), ("ines", 404), ("dora", 404), ("tam", 403)],
)
def test_letters_are_for_the_childs_own_coaches_and_directors(who, status, address, cast):
    client = signed_in(getattr(cast, who))
    method = client.get if address in ("letter", "letters") else client.post
    answer = method(f"/children/{cast.mai.uuid}/{address}", follow=True)
    assert answer.status_code == status
    assert status == 200 or b"Mai" not in answer.content
    if status != 200:
        assert not PrintedLetter.objects.exists()
        assert not LetterDraft.objects.exists()


@pytest.mark.parametrize("address", ["letter", "letter.pdf", "letter/prepare"])
def test_a_letter_needs_a_sign_in_and_is_not_changed_by_other_methods(address, cast):
    answer = Client().post(f"/children/{cast.mai.uuid}/{address}")
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in")
    assert signed_in(cast.omar).put(f"/children/{cast.mai.uuid}/{address}").status_code == 405
    assert signed_in(cast.omar).post(f"/children/{uuid.uuid4()}/{address}").status_code == 404


@pytest.mark.parametrize("address", ["letter.pdf", "letter/prepare"])
def test_nothing_is_printed_or_prepared_by_looking(address, cast):
    assert signed_in(cast.omar).get(f"/children/{cast.mai.uuid}/{address}").status_code == 405
    assert not PrintedLetter.objects.exists()


def test_what_is_prepared_stands_in_the_field_until_it_is_printed(cast):
    client, page = signed_in(cast.omar), f"/children/{cast.mai.uuid}/letter"
    client.post(f"{page}/prepare", {"own": "She waited for her turn."})
    assert "She waited for her turn.</textarea>" in client.get(page).text
    answer = printed(cast.omar, cast.mai, own="She waited for her turn.")
    assert "She waited for her turn." in text_of(answer.content)
    assert not LetterDraft.objects.exists()
    assert "She waited" not in client.get(page).text


def test_what_is_held_back_is_not_printed(cast):
    answer = printed(cast.omar, cast.mai, held_back="we speak with them first")
    refused_with(answer, "Held back: we speak with them first")
    assert not PrintedLetter.objects.exists()
