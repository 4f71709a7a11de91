"""The page of everything kept of a child: its two files, and being erased by two directors."""

import io
import json

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from readiness.models import Erasure, NotTonight
from readiness.record.privacy.erasing import ask
from studio.models import Child
from tests.support.cast import NOW, make_child
from tests.support.child_rows.whole_child import WORD, fill
from tests.support.pages import signed_in, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_the_evening():
    with time_machine.travel(NOW, tick=False):
        yield


def page(staff, child):
    return signed_in(staff).get(f"/children/{child.uuid}/record")


def send(staff, child, address, **values):
    return signed_in(staff).post(f"/children/{child.uuid}/{address}", values)


def pdf_words(content):
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    return " ".join(text.split())


def test_a_director_has_both_files(cast, log):
    child = fill(cast, log)
    answer = send(cast.petra, child, "record/file", kind="json")
    assert json.loads(answer.content)["records"][0]["uuid"] == str(child.uuid)
    name = f'attachment; filename="record-{str(child.uuid)[:8]}.json"'
    assert answer["Content-Disposition"] == name
    answer = send(cast.petra, child, "record/file", kind="pdf")
    words = pdf_words(answer.content)
    assert f"Everything that is kept of Mai {WORD}" in words
    assert "Back walkover" in words
    assert "turns: 4; clean: 3" in words
    assert f"given to: {WORD}; words: {WORD}" in words
    assert "Page 1 of" in words
    assert "<" not in words


def test_what_was_said_in_confidence_is_not_in_what_is_handed_over(cast, log):
    """Rule of the tables: "for staff, never for the family or a letter" (NotTonight)."""
    fill(cast, log)
    assert NotTonight.objects.exists()
    words = pdf_words(send(cast.petra, cast.mai, "record/file", kind="pdf").content)
    assert "“Not tonight”" not in words
    assert "“No hands tonight”" in words


def test_a_letter_that_no_typeface_has_is_a_question_mark(cast):
    Child.objects.filter(pk=cast.mai.pk).update(name="Mai \U00012000")
    words = pdf_words(send(cast.petra, cast.mai, "record/file", kind="pdf").content)
    assert "Everything that is kept of Mai ?" in words
    assert "“?” stands for letters that no typeface here has." in words


def test_another_file_is_refused(cast):
    answer = send(cast.petra, cast.mai, "record/file", kind="xml")
    assert answer.status_code == 422
    assert "Say which file: JSON or PDF." in text_of(answer)


def test_two_directors_erase_a_child(cast):
    assert send(cast.petra, cast.mai, "erase").status_code == 422
    assert not Erasure.objects.exists()
    assert send(cast.petra, cast.mai, "erase", sure="on").status_code == 302
    asked = Erasure.objects.get()
    said = text_of(page(cast.petra, cast.mai))
    assert "Petra asked on 4 Mar 2026 that this child be erased." in said
    assert "Somebody else has to say yes: whoever asks does not." in said
    assert "Yes, erase" not in said
    assert send(cast.petra, cast.mai, f"erase/{asked.uuid}/yes", sure="on").status_code == 422
    assert "Mai Tran asked by Petra on 4 Mar 2026" in text_of(signed_in(cast.luis).get("/erasures"))
    assert send(cast.luis, cast.mai, f"erase/{asked.uuid}/yes").status_code == 422
    assert Child.objects.get(pk=cast.mai.pk).name == "Mai Tran"
    answer = send(cast.luis, cast.mai, f"erase/{asked.uuid}/yes", sure="on")
    assert answer["Location"] == "/erasures"
    assert Child.objects.get(pk=cast.mai.pk).name.startswith("Erased (")
    assert page(cast.petra, cast.mai).status_code == 404


def test_what_is_asked_of_one_child_is_not_answered_at_another(cast):
    asked = ask(cast.mai, cast.petra, NOW)
    answer = send(cast.luis, cast.ilse, f"erase/{asked.uuid}/yes", sure="on")
    assert answer.status_code == 404
    assert Child.objects.get(pk=cast.mai.pk).name == "Mai Tran"


def test_it_is_taken_back(cast):
    asked = ask(cast.mai, cast.petra, NOW)
    assert send(cast.petra, cast.mai, f"erase/{asked.uuid}/take-back").status_code == 302
    assert "Nobody is to be erased." in text_of(signed_in(cast.luis).get("/erasures"))
    assert send(cast.luis, cast.mai, f"erase/{asked.uuid}/yes", sure="on").status_code == 409


def test_the_list_asks_as_often_for_many_as_for_two(cast):
    def queries():
        client = signed_in(cast.petra)
        with CaptureQueriesContext(connection) as asked:
            assert client.get("/erasures").status_code == 200
        return len(asked)

    for name in ("Ada", "Bea"):
        ask(make_child(name, cast.blue), cast.luis, NOW)
    few = queries()
    for n in range(18):
        ask(make_child(f"Cleo {n}", cast.blue), cast.luis, NOW)
    assert queries() == few


def test_the_command_writes_a_file_that_is_not_there_yet(cast, tmp_path):
    file = tmp_path / "mai.json"
    call_command("export_child", cast.mai.uuid, file)
    assert json.loads(file.read_text())["records"][0]["name"] == "Mai Tran"
    assert file.stat().st_mode & 0o777 == 0o600
    with pytest.raises(CommandError, match="exists"):
        call_command("export_child", cast.mai.uuid, file)
    with pytest.raises(CommandError, match="no such child"):
        call_command("export_child", cast.omar.uuid, tmp_path / "x.pdf")
