"""Two processes sign the same child at the same moment: one signature stands, each time."""

import pytest
from django.db import connection

from readiness.guards import GUARDED
from readiness.models import Decision
from studio.db import append_only
from tests.support.deciding import recommend
from tests.support.signer_process import SignerProcess, at_the_same_moment


@pytest.fixture
def signers(cast, mai, tmp_path):
    """Petra and Luis, each in a process."""
    recommend(mai, cast.omar)
    processes = [SignerProcess(str(mai.uuid), name, tmp_path) for name in ("petra", "luis")]
    yield processes
    for process in processes:
        process.end()


@pytest.fixture
def forget_signatures(db):
    """Between two rounds the signature is taken out, which the guards refuse."""
    append_only.remove(connection, {"readiness_decision": ()})
    yield lambda: Decision.objects.filter(kind=Decision.Kind.SIGN).delete()
    append_only.install(connection, GUARDED)


@pytest.mark.django_db(transaction=True)
def test_of_two_processes_that_sign_at_the_same_moment_one_does(
    signers, forget_signatures, request
):
    assert [signer.answer() for signer in signers] == ["ready", "ready"]
    for _round in range(200 if request.config.getoption("--full") else 10):
        answers = at_the_same_moment(signers)
        signature = Decision.objects.get(kind=Decision.Kind.SIGN)
        expected = {
            "petra": ["signed", "already-decided Petra"],
            "luis": ["already-decided Luis", "signed"],
        }
        assert answers == expected[signature.by.username]
        forget_signatures()
