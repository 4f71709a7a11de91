"""The page “Bring in a roster”."""

import re
import uuid
from pathlib import Path

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from studio.models import Child, ImportDraft
from tests.support.cast import NOW, make_child, make_class

FILES = Path(__file__).parents[2] / "files"
TEXT = "name,birth,class\nAda Alder,2016-04,Blue\nBo Birk,30/02/2016,Blue\n"

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def today():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def petra(cast) -> Client:
    client = Client()
    client.force_login(cast.petra)
    return client


def upload(client: Client, data: bytes | str, name: str = "roster.csv"):
    raw = data if isinstance(data, bytes) else data.encode()
    return client.post("/roster", {"file": SimpleUploadedFile(name, raw)})


def preview_of(client: Client, data: bytes | str) -> str:
    answer = upload(client, data)
    assert answer.status_code == 302, answer.content.decode()
    return answer["Location"]


def confirm_fields(page: str) -> dict[str, str]:
    """The hidden fields of the confirming form."""
    return dict(re.findall(r'name="(token|shown)" value="([^"]+)"', page))


def confirm(client: Client, address: str, **more: str):
    page = client.get(address).content.decode()
    return client.post(f"{address}/confirm", confirm_fields(page) | more)


def test_a_file_is_shown_confirmed_and_its_result_shown(petra):
    before = Child.objects.count()
    address = preview_of(petra, TEXT)
    page = petra.get(address).content.decode()
    assert "Ada Alder" in page
    assert "30/02/2016: there is no such day." in page
    assert '<option value="utf-8" selected>' in page
    assert '<option value="comma" selected>' in page
    assert Child.objects.count() == before
    answer = confirm(petra, address)
    assert (answer.status_code, answer["Location"]) == (302, address)
    assert Child.objects.count() == before + 1
    page = petra.get(address).content.decode()
    assert "Stored: 1 new child," in page
    assert "1 line was left out" in page


def test_the_upload_is_not_kept_once_it_is_done(petra):
    confirm(petra, preview_of(petra, TEXT))
    draft = ImportDraft.objects.get()
    assert bytes(draft.data) == b""
    assert draft.done_at == NOW


def test_confirming_twice_with_one_token_stores_once(petra):
    before = Child.objects.count()
    address = preview_of(petra, TEXT)
    fields = confirm_fields(petra.get(address).content.decode())
    for _tap in range(2):
        answer = petra.post(f"{address}/confirm", fields)
        assert (answer.status_code, answer["Location"]) == (302, address)
    assert Child.objects.count() == before + 1


def test_a_done_upload_is_not_done_again_with_another_token(petra):
    address = preview_of(petra, TEXT)
    fields = confirm_fields(petra.get(address).content.decode())
    petra.post(f"{address}/confirm", fields)
    Child.objects.filter(name="Ada Alder").update(name="Ada Else", name_key="ada else")
    petra.post(f"{address}/confirm", fields | {"token": str(uuid.uuid4())})
    assert not Child.objects.filter(name="Ada Alder").exists()


@pytest.mark.parametrize("fields", [{}, {"token": "x", "shown": "y"}, {"token": str(uuid.uuid4())}])
def test_a_confirmation_without_token_or_digest_is_refused_and_stores_nothing(petra, fields):
    before = Child.objects.count()
    address = preview_of(petra, TEXT)
    assert petra.post(f"{address}/confirm", fields).status_code == 400
    assert Child.objects.count() == before


def test_what_has_changed_since_it_was_shown_is_not_stored(petra, cast):
    address = preview_of(petra, TEXT)
    fields = confirm_fields(petra.get(address).content.decode())
    make_child("Ada Alder", cast.blue)
    before = Child.objects.count()
    answer = petra.post(f"{address}/confirm", fields, follow=True)
    assert "this has changed since it was shown" in answer.content.decode()
    assert Child.objects.count() == before
    assert ImportDraft.objects.get().done_at is None


def test_all_or_nothing_stores_nothing_if_a_line_is_left_out(petra):
    before = Child.objects.count()
    address = preview_of(petra, TEXT)
    page = petra.get(address).content.decode()
    fields = confirm_fields(page) | {"all_or_nothing": "on"}
    answer = petra.post(f"{address}/confirm", fields, follow=True)
    assert "Nothing was stored" in answer.content.decode()
    assert Child.objects.count() == before


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "The file is empty."),
        ((FILES / "four-workbook.csv").read_bytes(), "This is a spreadsheet workbook"),
        (b"name\x00", "does not hold text"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_with_a_sentence_and_not_kept(petra, data, sentence):
    answer = upload(petra, data)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert "CSV UTF-8" in answer.content.decode()
    assert not ImportDraft.objects.exists()


def test_no_file_and_a_file_too_large_are_refused(petra):
    assert petra.post("/roster", {}).status_code == 422
    answer = upload(petra, b"name\n" + b"a" * 5 * 1024 * 1024)
    assert answer.status_code == 422
    assert "larger than 5 MB" in answer.content.decode()
    assert not ImportDraft.objects.exists()


def test_a_table_that_is_no_roster_shows_its_first_lines_and_cannot_be_confirmed(petra):
    page = petra.get(preview_of(petra, "who;when\nAda;2016\n")).content.decode()
    assert "There is no column for the name." in page
    assert "<td>Ada</td>" in page
    assert confirm_fields(page) == {}


def test_encoding_separator_and_class_can_be_changed(petra):
    address = preview_of(petra, "name;birth\nŠimon;2016-04\n".encode("windows-1250"))
    page = petra.get(address).content.decode()
    assert '<option value="windows-1252" selected>' in page
    assert "A child who is new here needs a class." in page
    answer = petra.post(
        f"{address}/options",
        {"encoding": "windows-1250", "delimiter": "semicolon", "dates": "", "usual": "Blue"},
    )
    assert (answer.status_code, answer["Location"]) == (302, address)
    page = petra.get(address).content.decode()
    assert "Šimon" in page
    assert '<option value="windows-1250" selected>' in page
    assert '<option value="Blue" selected>' in page
    confirm(petra, address)
    assert Child.objects.get(name="Šimon").classes.get().name == "Blue"


def test_an_encoding_that_does_not_fit_is_said_and_can_be_changed_back(petra):
    address = preview_of(petra, "name;birth\nZoë;2016-04\n".encode("windows-1252"))
    petra.post(f"{address}/options", {"encoding": "utf-8"})
    page = petra.get(address).content.decode()
    assert "line 2 cannot be read as UTF-8" in page
    assert confirm_fields(page) == {}
    petra.post(f"{address}/options", {"encoding": ""})
    assert "Zoë" in petra.get(address).content.decode()


def test_options_that_are_not_offered_are_refused(petra):
    address = preview_of(petra, TEXT)
    assert petra.post(f"{address}/options", {"encoding": "latin-1"}).status_code == 400
    assert ImportDraft.objects.get().options == {}


def test_dates_that_can_be_read_both_ways_are_asked_for(petra):
    address = preview_of(petra, "name,birth,class\nAda Alder,03/04/2016,Blue\n")
    page = petra.get(address).content.decode()
    assert "day first or month first: 03/04/2016" in page
    assert confirm_fields(page) == {}
    petra.post(f"{address}/options", {"dates": "month-first"})
    confirm(petra, address)
    assert Child.objects.get(name="Ada Alder").birth_month == 3


def test_the_order_of_dates_is_asked_for_with_all_other_questions_in_one_round(petra, cast):
    """Mai was born in April 2016: read month first the line may be of her, read day first it is."""
    text = "name,birth,class\nMai Tran,03/04/2016,Blauw\nIlse Brandt,05/09/2015,Blue\n"
    address = preview_of(petra, text)
    page = petra.get(address).content.decode()
    assert "day first or month first: 03/04/2016" in page
    assert 'name="word:class:blauw"' in page
    assert {"answer-2", "answer-3"} <= set(re.findall(r'name="(answer-\d+)"', page))
    assert "month first" in page
    petra.post(
        f"{address}/options",
        {
            "dates": "day-first",
            "word:class:blauw": "Blue",
            "answer-2": str(cast.mai.uuid),
            "answer-3": str(cast.ilse.uuid),
        },
    )
    page = petra.get(address).content.decode()
    assert "Which child is it?" not in page
    assert "answer-" not in page
    before = Child.objects.count()
    confirm(petra, address)
    assert Child.objects.count() == before


def test_two_children_that_fit_are_asked_about_and_the_answer_is_kept(petra, cast):
    twin = make_child("Mai Tran", make_class("Green", cast.hall))
    address = preview_of(petra, "name,birth,guardian\nMai Tran,2016-04,T. Tran\n")
    page = petra.get(address).content.decode()
    assert "More than one child here fits Mai Tran. Which one is it?" in page
    assert f'name="answer-2" value="{twin.uuid}"' in page
    petra.post(f"{address}/options", {"answer-2": str(twin.uuid)})
    page = petra.get(address).content.decode()
    assert "Which one is it?" not in page
    petra.post(f"{address}/options", {"forget": "yes"})
    assert "Which one is it?" in petra.get(address).content.decode()
    petra.post(f"{address}/options", {"answer-2": str(twin.uuid)})
    confirm(petra, address)
    assert Child.objects.get(guardian="T. Tran") == twin


def test_an_answer_chosen_but_not_shown_yet_is_shown_before_it_is_stored(petra, cast):
    twin = make_child("Mai Tran", make_class("Green", cast.hall))
    address = preview_of(petra, "name,birth,guardian\nMai Tran,2016-04,T. Tran\n")
    chosen = {"encoding": "utf-8", "answer-2": str(twin.uuid)}
    answer = confirm(petra, address, **chosen)
    assert answer["Location"] == address
    page = petra.get(address).content.decode()
    assert "Nothing is stored yet: this has changed since it was shown." in page
    assert "guardian: T. Tran is added" in page
    assert not Child.objects.filter(guardian="T. Tran").exists()
    confirm(petra, address, **chosen)
    assert Child.objects.get(guardian="T. Tran") == twin


def test_an_answer_cannot_name_a_child_of_another_location(petra, cast):
    far = make_child("Mai Tran", cast.far)
    make_child("Mai Tran", cast.red)
    address = preview_of(petra, "name,birth,guardian\nMai Tran,2016-04,T. Tran\n")
    assert str(far.uuid) not in petra.get(address).content.decode()
    petra.post(f"{address}/options", {"answer-2": str(far.uuid)})
    confirm(petra, address)
    far.refresh_from_db()
    assert far.guardian == ""


def test_a_class_of_another_location_is_not_known(petra):
    page = petra.get(preview_of(petra, "name,birth,class\nAda,2016-04,Far\n")).content.decode()
    assert "There is no class called “Far” here. The classes are: Blue; Red." in page


@pytest.mark.parametrize("when", ["before", "after"])
def test_the_lines_left_out_can_be_saved_before_and_after_the_confirmation(petra, when):
    address = preview_of(petra, TEXT + "=cmd,,Blue\n")
    if when == "after":
        confirm(petra, address)
    answer = petra.get(f"{address}/left-out")
    assert answer["Content-Disposition"] == 'attachment; filename="lines-left-out.csv"'
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    lines = answer.content.decode("utf-8-sig").splitlines()
    assert len(lines) == 3
    assert lines[2].split(",")[-3:] == ['"\'=cmd"', '""', '"Blue"']


@pytest.mark.parametrize("who", ["omar", "tam"])
def test_coaches_and_assistants_bring_nothing_in(cast, who):
    client = Client()
    client.force_login(getattr(cast, who))
    assert client.get("/roster").status_code == 403
    assert upload(client, TEXT).status_code == 403
    assert not ImportDraft.objects.exists()


def test_another_directors_upload_is_not_found_and_nothing_is_stored(petra, cast):
    before = Child.objects.count()
    address = preview_of(petra, TEXT)
    fields = confirm_fields(petra.get(address).content.decode())
    luis = Client()
    luis.force_login(cast.luis)
    assert luis.get(address).status_code == 404
    assert luis.get(f"{address}/left-out").status_code == 404
    assert luis.post(f"{address}/options", {"encoding": "utf-8"}).status_code == 404
    assert luis.post(f"{address}/confirm", fields).status_code == 404
    assert Child.objects.count() == before


def test_an_upload_of_the_other_kind_is_not_found(petra, cast):
    draft = ImportDraft.objects.create(
        kind="attempts", owner=cast.petra, name="log.csv", data=b"x", created_at=NOW
    )
    assert petra.get(f"/roster/{draft.uuid}").status_code == 404


@pytest.mark.parametrize("verb", ["options", "confirm"])
def test_changes_are_posted_only(petra, verb):
    address = preview_of(petra, TEXT)
    assert petra.get(f"{address}/{verb}").status_code == 405


def test_old_uploads_go_with_the_next_one(petra, cast):
    address = preview_of(petra, TEXT)
    with time_machine.travel(NOW.replace(day=6), tick=False):
        petra.force_login(cast.petra)
        again = preview_of(petra, TEXT)
        assert petra.get(address).status_code == 404
        assert petra.get(again).status_code == 200


def test_the_page_asks_few_questions_of_the_database(petra, django_assert_max_num_queries):
    rows = "".join(f"Child {'abcdefghijklmnopqrst'[n]},2016-04,Blue\n" for n in range(20))
    address = preview_of(petra, "name,birth,class\n" + rows)
    with django_assert_max_num_queries(15):
        petra.get(address)
