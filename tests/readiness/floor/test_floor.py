"""The floor page itself: a shell, the same for everybody, private, with nothing inline."""

import re
import uuid

import pytest
import time_machine
from django.utils import translation

from readiness.engine.support import Allowed
from readiness.floor import words as floor_words
from readiness.floor.on_demand.words import more_words
from readiness.words.support import SUPPORT_REASONS
from tests.support.cast import NOW, make_staff

SEEN = 200


def page(client, cast):
    return client.get(f"/floor/{cast.meeting.uuid}")


@pytest.mark.parametrize("who", ["omar", "tam", "petra"])
def test_the_class_staff_and_its_directors_see_the_page(client, cast, who):
    client.force_login(getattr(cast, who))
    assert page(client, cast).status_code == SEEN


@pytest.mark.parametrize("who", ["ines", "dora"])
def test_another_class_and_another_hall_get_not_found(client, cast, who):
    client.force_login(getattr(cast, who))
    assert page(client, cast).status_code == 404


def test_a_stand_in_sees_the_page_of_that_meeting(client, cast):
    client.force_login(cast.ines)
    cast.meeting.staff.add(cast.ines)
    with time_machine.travel(NOW, tick=False):
        assert page(client, cast).status_code == SEEN


def test_a_meeting_that_is_not_there_is_not_found(client, cast):
    client.force_login(cast.omar)
    assert client.get(f"/floor/{uuid.uuid4()}").status_code == 404


def test_signed_out_it_leads_to_the_sign_in_and_back(client, cast):
    response = page(client, cast)
    assert response.status_code == 302
    assert response["Location"].endswith(f"next=/floor/{cast.meeting.uuid}")


def test_it_is_only_read(client, cast):
    client.force_login(cast.omar)
    assert client.post(f"/floor/{cast.meeting.uuid}").status_code == 405


def test_it_is_the_same_for_everybody_and_every_class_and_holds_no_name(client, cast):
    bodies = set()
    for staff in (cast.omar, cast.tam, cast.petra, make_staff("Zita", "director", cast.hall)):
        client.force_login(staff)
        bodies.add(page(client, cast).content)
    assert len(bodies) == 1
    text = bodies.pop().decode()
    for word in ("Mai", "Ilse", "Omar", "Blue", "Mill hall", "Lantern", str(cast.meeting.uuid)):
        assert word not in text


def test_nothing_is_inline_and_nothing_comes_from_elsewhere(client, cast):
    client.force_login(cast.omar)
    response = page(client, cast)
    text = response.content.decode()
    assert response["Content-Security-Policy"].startswith("default-src 'self'")
    assert response["Cache-Control"] == "no-store"
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:|https?://", text)
    scripts = re.findall(r"<script([^>]*)>(.*?)</script>", text, re.DOTALL)
    run = [about for about, body in scripts if "application/json" not in about]
    assert run
    assert all("src=" in about for about in run)


def test_its_answer_sets_the_token_cookie(client, cast):
    client.force_login(cast.omar)
    assert "csrftoken" in page(client, cast).cookies


def test_the_caution_stands_on_it(client, cast):
    client.force_login(cast.omar)
    text = page(client, cast).content.decode()
    assert "The program counts and reminds; a qualified coach in the room decides" in text


def test_every_sentence_has_a_form_for_every_sample_number():
    words = floor_words.words()
    for key, sentence in words["words"].items():
        forms = [sentence] if isinstance(sentence, str) else sentence
        assert all(forms), key
        assert len(forms) in (1, len(floor_words.SAMPLES)), key
    one, many = (words["words"]["turns-kept"][at] for at in (1, 2))
    assert "%(n)s turn kept" in one
    assert "%(n)s turns kept" in many


def test_every_word_the_scripts_ask_for_is_there(settings):
    words = floor_words.words()
    asked, groups = set(), set()
    for script in (settings.BASE_DIR / "static" / "floor").rglob("*.js"):
        text = script.read_text(encoding="utf-8")
        for call in re.findall(r"\bsay(?:Count)?\(\s*([^;]*)", text):
            asked |= set(re.findall(r'"([a-z][a-z-]+)"', call.split("{")[0].split(")")[0]))
        groups |= set(re.findall(r'sayCode\("([a-z]+)"', text))
    more = more_words()
    assert not more["words"].keys() & words["words"].keys()
    assert asked - words["words"].keys() - more["words"].keys() == set()
    assert groups == words["codes"].keys() | more["codes"].keys()


def test_every_cause_the_engine_gives_has_words_on_the_tile_or_in_a_sentence():
    codes = floor_words.words()["codes"]
    assert codes["reasons"].keys() == SUPPORT_REASONS.keys()
    on_the_tile = codes["causes"].keys() | {"paused", "pain", "closed"}
    assert SUPPORT_REASONS.keys() <= on_the_tile
    assert Allowed(None, ("closed",)).causes[0] in codes["reasons"]


def test_the_words_are_those_of_the_active_language():
    with translation.override("en"):
        assert floor_words.words()["words"]["clean"] == "clean"
