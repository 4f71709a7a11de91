"""Form tokens: a job runs once, and a token belongs to one person and one job."""

import pytest

from studio.idempotency import TokenSpentElsewhere, new_token, run_once
from studio.models import SpentToken
from tests.support.cast import NOW


def test_the_second_time_leads_to_where_the_first_went_and_does_nothing(cast):
    token, done = new_token(), []

    def work():
        done.append(1)
        return "/there"

    assert run_once(token, "import", "/here", cast.petra, NOW, work) == ("/there", True)
    assert run_once(token, "import", "/here", cast.petra, NOW, work) == ("/there", False)
    assert done == [1]


@pytest.mark.parametrize(
    ("job", "target", "who"),
    [
        ("import", "/here", "luis"),
        ("sign", "/here", "petra"),
        ("import", "/of-another-child", "petra"),
    ],
)
def test_a_token_of_another_person_or_job_or_address_leads_nowhere(cast, job, target, who):
    token = new_token()
    run_once(token, "import", "/here", cast.petra, NOW, lambda: "/for-petra")
    with pytest.raises(TokenSpentElsewhere):
        run_once(token, job, target, getattr(cast, who), NOW, lambda: "/elsewhere")
    assert SpentToken.objects.get().went_to == "/for-petra"


def test_what_was_refused_leaves_the_token_unspent(cast):
    def refuse():
        raise ValueError("no")

    token = new_token()
    with pytest.raises(ValueError, match="no"):
        run_once(token, "import", "/here", cast.petra, NOW, refuse)
    assert run_once(token, "import", "/here", cast.petra, NOW, lambda: "/there") == ("/there", True)


def test_a_text_that_is_no_token_is_refused(cast):
    with pytest.raises(ValueError, match="badly formed"):
        run_once("not a token", "import", "/here", cast.petra, NOW, lambda: "/there")
    assert not SpentToken.objects.exists()
