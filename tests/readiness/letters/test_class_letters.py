"""The letters of a class side by side: sentences, held back, a director's read, and printing."""

import datetime

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from readiness.letters.kept.waiting import reasons_to_wait
from readiness.letters.letter import letter_facts
from readiness.models import LetterDraft, LetterRun, PrintedLetter
from studio.people.family import say_family
from tests.support.cast import NOW, make_child
from tests.support.letters.files import text_of
from tests.support.letters.waiting import hurts, paused
from tests.support.pages import signed_in


def page_of(staff, cast):
    answer = signed_in(staff).get(f"/letters/classes/{cast.blue.uuid}")
    assert answer.status_code == 200
    return answer


def as_shown(answer) -> dict[str, object]:
    """The form as it stands on the page."""
    data: dict[str, object] = {}
    for form, _each, _language in answer.context["rows"]:
        for bound in form:
            value = bound.value()
            if value not in (None, False):
                data[bound.html_name] = value
            if bound.field.show_hidden_initial:
                data[bound.html_initial_name] = bound.initial or ""
    return data


def send(staff, cast, do, shown=None, **more):
    """``more``: of Mai, what is typed; None for a box that is unticked."""
    data = as_shown(shown or page_of(staff, cast))
    for name, value in more.items():
        key = f"{cast.mai.uuid}-{name}"
        data.pop(key, None)
        if value is not None:
            data[key] = value
    address = f"/letters/classes/{cast.blue.uuid}"
    return signed_in(staff).post(address, {**data, "do": do})


def go_on(staff, run):
    while (
        not (page := signed_in(staff).get(f"/letters/runs/{run.uuid}")).context["progress"].is_over
    ):
        signed_in(staff).post(f"/letters/runs/{run.uuid}/on")
    return page


def test_each_letter_stands_beside_what_is_added_to_it(cast):
    html = page_of(cast.omar, cast).text
    assert html.count("is at the beginning of our ladder") == 2
    assert f'name="{cast.mai.uuid}-own"' in html
    assert "Rosa" not in html


def test_the_ticked_ones_are_printed_with_their_sentences(cast):
    answer = send(cast.omar, cast, "print", own="She asked for a hand.")
    run = LetterRun.objects.get()
    assert answer["Location"] == f"/letters/runs/{run.uuid}"
    assert not PrintedLetter.objects.exists(), "only by going on"
    assert "2 letters are printed and kept." in go_on(cast.omar, run).text
    assert "She asked for a hand." in text_of(PrintedLetter.objects.get(child=cast.mai).file)
    assert "She asked" not in text_of(PrintedLetter.objects.get(child=cast.ilse).file)


def test_the_names_lead_down_the_page_and_say_what_is_left_out(cast):
    html = page_of(cast.omar, cast).text
    assert f'<a href="#letter-{cast.mai.uuid}">' in html
    assert f'id="letter-{cast.mai.uuid}"' in html
    assert html.index("Print the ticked ones") < html.index('id="letter-')
    assert "Left out as it stands" not in html
    # A class of beginners: nobody has a turn yet.
    assert html.count("no turns to tell of") == 2
    hurts(cast, cast.mai)
    send(cast.omar, cast, "keep", held_back="we speak with them first")
    top = page_of(cast.omar, cast).text.partition('id="letter-')[0]
    assert "Left out as it stands, 1 letter:" in top
    assert "<strong>Mai</strong>" in top
    assert top.index("held back") < top.index("waits for a director")


def test_what_is_not_ticked_is_not_printed(cast):
    send(cast.omar, cast, "print", chosen=None)
    go_on(cast.omar, LetterRun.objects.get())
    assert [letter.child for letter in PrintedLetter.objects.all()] == [cast.ilse]


def test_what_is_held_back_is_left_out_and_named_with_its_reason(cast):
    send(cast.omar, cast, "keep", held_back="we speak with them first")
    assert "Held back: we speak with them first" in page_of(cast.petra, cast).text
    send(cast.omar, cast, "print", chosen="on")
    page = go_on(cast.omar, LetterRun.objects.get())
    assert [name for name, _c, _w in page.context["progress"].left_out] == ["Mai Tran"]
    assert "Held back: we speak with them first" in page.text


@pytest.mark.parametrize("tells", [hurts, paused])
def test_what_tells_of_a_pause_or_of_pain_waits_for_a_directors_read(tells, cast):
    tells(cast, cast.mai)
    assert reasons_to_wait(letter_facts(cast.mai, NOW))
    assert "A director reads it first." in page_of(cast.omar, cast).text
    send(cast.omar, cast, "print", own="Rest well.", chosen="on")
    assert "A director has not read it yet." in go_on(cast.omar, LetterRun.objects.get()).text
    assert not PrintedLetter.objects.filter(child=cast.mai).exists()

    send(cast.petra, cast, "keep", read="on")
    send(cast.omar, cast, "print", chosen="on")
    go_on(cast.omar, LetterRun.objects.latest("pk"))
    kept = PrintedLetter.objects.get(child=cast.mai)
    assert (kept.by, kept.read_by) == (cast.omar, cast.petra)
    assert "Rest well." in text_of(kept.file)


def test_a_letter_waits_for_nobody_where_nothing_is_to_be_read(cast):
    assert reasons_to_wait(letter_facts(cast.mai, NOW)) == []


def test_a_coach_cannot_say_that_it_was_read(cast):
    hurts(cast, cast.mai)
    send(cast.omar, cast, "keep", read="on", own="Rest well.")
    assert LetterDraft.objects.get().read_by is None
    answer = signed_in(cast.omar).post(f"/children/{cast.mai.uuid}/letter.pdf", {"own": "x"})
    assert answer.status_code == 422
    assert not PrintedLetter.objects.exists()


def test_a_directors_own_letter_is_read(cast):
    hurts(cast, cast.mai)
    send(cast.petra, cast, "keep", own="Rest well.")
    assert LetterDraft.objects.get().read_by == cast.petra
    answer = signed_in(cast.petra).post(
        f"/children/{cast.mai.uuid}/letter.pdf", {"own": "Rest well."}, follow=True
    )
    assert answer.status_code == 200
    assert PrintedLetter.objects.get().read_by == cast.petra


def test_family_prints_as_usual_and_reads_nothing_for_others(cast):
    say_family(cast.mai, cast.petra, cast.luis, NOW)
    answer = signed_in(cast.petra).post(
        f"/children/{cast.mai.uuid}/letter.pdf", {"own": ""}, follow=True
    )
    assert answer.status_code == 200
    hurts(cast, cast.mai)
    send(cast.petra, cast, "keep", read="on", own="Rest well.")
    assert LetterDraft.objects.get().read_by is None
    answer = signed_in(cast.petra).post(
        f"/children/{cast.mai.uuid}/letter.pdf", {"own": "Rest well."}
    )
    assert answer.status_code == 422


def test_a_read_holds_for_the_words_that_were_read_on_another_day_too(cast):
    hurts(cast, cast.mai)
    send(cast.petra, cast, "keep", read="on")
    with time_machine.travel(NOW + datetime.timedelta(days=1), tick=False):
        assert "A director reads it first." not in page_of(cast.omar, cast).text
        paused(cast, cast.mai)
        assert "A director reads it first." in page_of(cast.omar, cast).text


def test_a_changed_sentence_is_read_again(cast):
    hurts(cast, cast.mai)
    send(cast.petra, cast, "keep", read="on")
    send(cast.omar, cast, "keep", own="Rest well.")
    assert "A director reads it first." in page_of(cast.omar, cast).text


def test_a_read_of_what_the_record_no_longer_says_is_not_taken(cast):
    hurts(cast, cast.mai)
    shown = page_of(cast.petra, cast)
    paused(cast, cast.mai)
    answer = send(cast.petra, cast, "keep", shown, read="on")
    assert answer.status_code == 422
    assert "read it once more" in answer.text
    assert not LetterDraft.objects.exists()


def test_of_two_who_write_at_once_nobody_overwrites_the_other_unseen(cast):
    shown = page_of(cast.omar, cast)
    send(cast.petra, cast, "keep", own="From Petra.")
    answer = send(cast.omar, cast, "keep", shown, own="From Omar.")
    assert answer.status_code == 422
    assert "Somebody else has written here meanwhile: From Petra." in answer.text
    assert LetterDraft.objects.get().own == "From Petra."
    # Who wrote nothing changes nothing.
    send(cast.omar, cast, "keep", shown)
    assert LetterDraft.objects.get().own == "From Petra."


def test_a_letter_that_cannot_be_printed_stops_no_other(cast):
    cast.mai.name = "陈美丽"
    cast.mai.save(update_fields=["name"])
    send(cast.omar, cast, "print")
    page = go_on(cast.omar, LetterRun.objects.get())
    assert "no typeface here has 陈 (U+9648)" in page.text
    assert [letter.child for letter in PrintedLetter.objects.all()] == [cast.ilse]


def test_a_letter_that_a_ladders_text_breaks_stops_no_other(cast, monkeypatch):
    from readiness.letters.many import preparing

    written = preparing.write_from

    def breaks(facts, *said, **more):
        if facts.now.child == cast.mai:
            raise KeyError("name")
        return written(facts, *said, **more)

    monkeypatch.setattr(preparing, "write_from", breaks)
    page = page_of(cast.omar, cast)
    assert "This letter cannot be written: a text of the ladder does not fit into it." in page.text
    send(cast.petra, cast, "print")
    signed_in(cast.petra).post("/letters/studio")
    page = go_on(cast.petra, LetterRun.objects.latest("pk"))
    assert [name for name, _c, _w in page.context["progress"].left_out] == ["Mai Tran"]
    assert {letter.child for letter in PrintedLetter.objects.all()} == {cast.ilse, cast.rosa}


def test_a_run_is_printed_some_at_a_time_and_once(cast):
    for number in range(9):
        make_child(f"Child {number}", cast.blue)
    send(cast.omar, cast, "print")
    run, client = LetterRun.objects.get(), signed_in(cast.omar)
    assert "0 of 11" in client.get(f"/letters/runs/{run.uuid}").text
    client.post(f"/letters/runs/{run.uuid}/on")
    assert "8 of 11" in client.get(f"/letters/runs/{run.uuid}").text
    assert PrintedLetter.objects.count() == 8
    for _each in range(2):
        client.post(f"/letters/runs/{run.uuid}/on")
    assert PrintedLetter.objects.count() == 11


def test_a_child_who_left_ones_classes_meanwhile_is_left_out(cast):
    send(cast.omar, cast, "print")
    cast.blue.children.remove(cast.mai)
    run = LetterRun.objects.get()
    signed_in(cast.omar).post(f"/letters/runs/{run.uuid}/on")
    assert [letter.child for letter in PrintedLetter.objects.all()] == [cast.ilse]
    assert "Mai" not in signed_in(cast.omar).get(f"/letters/runs/{run.uuid}").text


def test_a_director_prints_the_whole_studio_and_a_coach_does_not(cast):
    assert signed_in(cast.omar).post("/letters/studio").status_code == 403
    assert not LetterRun.objects.exists()
    signed_in(cast.petra).post("/letters/studio")
    go_on(cast.petra, LetterRun.objects.get())
    children = {letter.child for letter in PrintedLetter.objects.all()}
    assert children == {cast.mai, cast.ilse, cast.rosa}


@pytest.mark.parametrize("page", ["class", "all", "run", "on"])
def test_twenty_letters_take_as_many_queries_as_two(page, cast):
    client, counts = signed_in(cast.petra), []
    for number in (2, 18):
        for each in range(number):
            child = make_child(f"Child {number} {each}", cast.blue)
            LetterDraft.objects.create(child=child, own="x", by=cast.omar, at=NOW)
            hurts(cast, child)
        client.post("/letters/studio")
        run = LetterRun.objects.latest("pk")
        address = {
            "class": f"/letters/classes/{cast.blue.uuid}",
            "all": "/letters",
            "run": f"/letters/runs/{run.uuid}",
            "on": f"/letters/runs/{run.uuid}",
        }[page]
        if page == "on":
            client.post(f"{address}/on")
        # What a new connection asks once.
        client.get(address)
        with CaptureQueriesContext(connection) as asked:
            assert client.get(address).status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1]
