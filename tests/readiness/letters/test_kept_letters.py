"""What was printed is kept exactly, printed again, corrected, and given to the family."""

import datetime
import hashlib

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from readiness.models import LetterGiven, PrintedLetter
from studio.people.merging import merge
from tests.support.cast import NOW, TODAY, make_child
from tests.support.letters.files import text_of
from tests.support.pages import signed_in
from tests.support.pages import text_of as words_of


def print_about(staff, child, **typed):
    answer = signed_in(staff).post(f"/children/{child.uuid}/letter.pdf", typed, follow=True)
    assert answer.status_code == 200
    return answer


def test_what_was_printed_is_kept_with_its_digest_by_whom_and_when(cast):
    file = print_about(cast.omar, cast.mai, own="Well held.").content
    kept = PrintedLetter.objects.get()
    assert bytes(kept.file) == file
    # FIPS 180-4, as Python's own library works it out.
    assert kept.digest == hashlib.sha256(file).hexdigest()
    assert (kept.child, kept.by, kept.at, kept.day) == (cast.mai, cast.omar, NOW, TODAY)
    assert kept.read_by is None


def test_printed_again_it_is_the_same_bytes_whatever_has_come_since(cast, log):
    file = print_about(cast.omar, cast.mai).content
    kept = PrintedLetter.objects.get()
    log(cast.mai, "hollow-hold", [5.0])
    again = signed_in(cast.petra).get(f"/children/{cast.mai.uuid}/letters/{kept.uuid}.pdf")
    assert again.content == file
    assert "4 March 2026" in again["Content-Disposition"]


def test_the_same_letter_printed_twice_is_one(cast):
    first, second = (print_about(cast.omar, cast.mai, own="Well held.") for _ in range(2))
    assert first.content == second.content
    assert PrintedLetter.objects.count() == 1
    print_about(cast.omar, cast.mai, own="Well done.")
    assert PrintedLetter.objects.count() == 2


def test_a_corrected_letter_says_which_it_replaces(cast):
    print_about(cast.omar, cast.mai, own="Wel held.")
    wrong = PrintedLetter.objects.get()
    page = f"/children/{cast.mai.uuid}/letter?corrects={wrong.uuid}"
    with time_machine.travel(NOW + datetime.timedelta(days=2), tick=False):
        html = signed_in(cast.omar).get(page).text
        assert "This letter replaces the one of 4 March 2026." in html
        assert "Wel held.</textarea>" in html
        right = print_about(cast.omar, cast.mai, own="Well held.", replaces=str(wrong.uuid))
        kept = words_of(signed_in(cast.omar).get(f"/children/{cast.mai.uuid}/letters"))
    assert "This letter replaces the one of 4 March 2026." in text_of(right.content)
    assert PrintedLetter.objects.get(replaces=wrong).day == TODAY + datetime.timedelta(days=2)
    assert "It replaces the one of 4 March 2026." in kept
    assert "Replaced by the one of 6 March 2026." in kept


def test_a_letter_of_another_child_is_never_the_one_that_is_replaced(cast):
    print_about(cast.omar, cast.ilse)
    of_ilse = PrintedLetter.objects.get()
    answer = signed_in(cast.omar).post(
        f"/children/{cast.mai.uuid}/letter.pdf", {"replaces": str(of_ilse.uuid)}, follow=True
    )
    assert answer.status_code == 200
    assert PrintedLetter.objects.get(child=cast.mai).replaces is None
    assert "replaces" not in text_of(answer.content)


def test_how_it_was_given_is_written_down_once(cast):
    print_about(cast.omar, cast.mai)
    address = f"/children/{cast.mai.uuid}/letters/{PrintedLetter.objects.get().uuid}/given"
    client = signed_in(cast.omar)
    for _each in range(2):
        assert client.post(address, {"how": "emailed", "on": f"{TODAY}"}).status_code == 302
    given = LetterGiven.objects.get()
    assert (given.how, given.on, given.by) == ("emailed", TODAY, cast.omar)
    assert "by e-mail, by hand, 4 March 2026" in words_of(
        client.get(f"/children/{cast.mai.uuid}/letters")
    )


@pytest.mark.parametrize("days", [-1, 1])
def test_it_was_not_given_before_its_day_nor_after_today(days, cast):
    print_about(cast.omar, cast.mai)
    address = f"/children/{cast.mai.uuid}/letters/{PrintedLetter.objects.get().uuid}/given"
    on = TODAY + datetime.timedelta(days=days)
    answer = signed_in(cast.omar).post(address, {"how": "handed", "on": f"{on}"})
    assert answer.status_code == 422
    assert not LetterGiven.objects.exists()


def test_a_letter_is_not_found_under_another_child(cast):
    print_about(cast.omar, cast.mai)
    kept = PrintedLetter.objects.get()
    address = f"/children/{cast.ilse.uuid}/letters/{kept.uuid}.pdf"
    assert signed_in(cast.omar).get(address).status_code == 404


def test_the_letters_of_both_records_of_a_child_are_listed(cast):
    other = make_child("Mai T.", cast.blue)
    print_about(cast.omar, other)
    kept = PrintedLetter.objects.get()
    merge(other, cast.mai, cast.petra, NOW)
    page = signed_in(cast.omar).get(f"/children/{cast.mai.uuid}/letters")
    assert str(kept.uuid) in page.text
    again = signed_in(cast.omar).get(f"/children/{cast.mai.uuid}/letters/{kept.uuid}.pdf")
    assert again.content == bytes(kept.file)


def test_twenty_kept_letters_take_as_many_queries_as_two(cast):
    client, counts = signed_in(cast.omar), []
    for number in (2, 18):
        for _each in range(number):
            about = {"child": cast.mai, "day": TODAY, "by": cast.omar, "at": NOW}
            letter = PrintedLetter.objects.create(file=b"%PDF", **about)
            LetterGiven.objects.create(letter=letter, how="handed", on=TODAY, by=cast.omar, at=NOW)
        with CaptureQueriesContext(connection) as asked:
            assert client.get(f"/children/{cast.mai.uuid}/letters").status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1]
