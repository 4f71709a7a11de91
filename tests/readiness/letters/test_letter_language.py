"""The language of letters, changed at the desk, changes the letter; where there are no sentences
in it the page says so."""

import pytest
import time_machine

from tests.support.cast import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def page_of_mai(client, cast):
    """The letter's page after the desk has said a language."""

    def page(language):
        with time_machine.travel(NOW, tick=False):
            client.force_login(cast.petra)
            said = {
                "name": "Mai Tran", "born": "2016-04", "letter_language": language,
                "contact-TOTAL_FORMS": "0", "contact-INITIAL_FORMS": "0",
            }  # fmt: skip
            assert client.post(f"/children/{cast.mai.uuid}/facts", said).status_code == 302
            return client.get(f"/children/{cast.mai.uuid}/letter").content.decode()

    return page


def test_a_letter_is_in_the_language_that_the_desk_has_said(page_of_mai, settings):
    settings.LETTER_LANGUAGES = ["en", "nl"]
    assert 'id="letter" lang="en"' in page_of_mai("en")
    # The month is Django's own word.
    page = page_of_mai("nl")
    assert 'id="letter" lang="nl"' in page
    assert "4 maart 2026" in page
    assert "There are no letters in it yet" not in page


def test_a_language_without_letters_is_kept_and_the_page_says_that_it_is_english(page_of_mai):
    assert "There are no letters in it yet" not in page_of_mai("en")
    page = page_of_mai("nl")
    assert "The family reads Dutch. There are no letters in it yet" in page
    assert 'id="letter" lang="en"' in page
