"""The frame of every page, the pages for what went wrong, and the sign-in page."""

import json
import re
from pathlib import Path

import pytest
from django.contrib.auth.forms import AuthenticationForm
from django.template.loader import render_to_string
from django.utils import translation

ROOT = Path(__file__).resolve().parents[2]
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
CAUTION = "a qualified coach in the room decides, each turn"


@pytest.fixture(autouse=True)
def plain_static_files(settings):
    """Pages are drawn here without collecting the static files first."""
    settings.STORAGES = settings.STORAGES | {
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    }


@pytest.mark.parametrize("page", ["400.html", "403.html", "404.html", "500.html", "503.html"])
def test_an_error_page_needs_no_context_and_no_database(page):
    html = render_to_string(page)
    assert html.count("<h1>") == 1
    assert CAUTION in html
    assert 'href="/"' in html


def test_an_error_page_says_the_sentence_it_is_given():
    assert "This page was open for too long." in render_to_string(
        "403.html", {"sentence": "This page was open for too long."}
    )


def test_the_sign_in_page_posts_name_password_and_where_to_go_next():
    html = render_to_string(
        "studio/sign_in/sign_in.html", {"form": AuthenticationForm(), "next": "/review?a=1&b=2"}
    )
    assert '<form class="form" method="post" action="/sign-in">' in html
    assert 'name="next" value="/review?a=1&amp;b=2"' in html
    assert 'name="username"' in html
    assert 'name="password"' in html
    assert CAUTION in html


def test_a_wrong_field_names_its_error_to_a_screen_reader():
    form = AuthenticationForm(data={"username": "", "password": "x"})
    html = render_to_string("includes/fields.html", {"form": form})
    field = re.search(r'<input[^>]*name="username"[^>]*>', html).group()
    assert 'aria-invalid="true"' in field
    assert 'aria-describedby="id_username_error"' in field
    assert 'id="id_username_error"' in html


@pytest.mark.parametrize(("language", "direction"), [("en", "ltr"), ("ar", "rtl")])
def test_a_page_names_its_language_and_direction(language, direction):
    with translation.override(language):
        assert f'<html lang="{language}" dir="{direction}">' in render_to_string("404.html")


def test_htmx_runs_without_eval_or_injected_style_and_keeps_no_page():
    html = render_to_string("404.html")
    config = json.loads(re.search(r"name=\"htmx-config\" content='(.*?)'", html).group(1))
    assert config["allowEval"] is False
    assert config["includeIndicatorStyles"] is False
    assert config["historyCacheSize"] == 0
    # The first rule that fits counts: refused in place, broken or away not.
    shown = {
        code: next(
            rule["swap"] for rule in config["responseHandling"] if re.search(rule["code"], code)
        )
        for code in ("200", "403", "409", "422", "404", "500", "503")
    }
    assert [code for code in shown if shown[code]] == ["200", "403", "409", "422"]


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.name)
def test_no_template_has_inline_style_or_script(template):
    source = template.read_text()
    assert not re.search(r"\sstyle\s*=|\son[a-z]+\s*=|<style|javascript:", source)
    assert not re.search(r"<script(?![^>]*\bsrc=)[^>]*>", source)


def test_the_links_to_what_is_brought_in_say_so(cast, client):
    client.force_login(cast.petra)
    desk = client.get("/desk").content.decode()
    for address, said in (("/roster", "Bring in a roster"), ("/paper", "Bring in a paper log")):
        html = client.get(address).content.decode()
        assert f'<a href="{address}">{said}</a>' in desk
        assert f">{said}</h1>" in html
