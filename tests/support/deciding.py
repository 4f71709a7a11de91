"""Decisions by their verbs, one after the other and at the same moment."""

import datetime
import threading

from django.db import connection

from readiness.record import decisions
from readiness.record.decisions import DecisionRefused
from readiness.record.snapshots import stage_snapshot
from readiness.record.standings import read
from tests.support.cast import NOW, TODAY
from tests.support.ready import MAT

LATER = NOW + datetime.timedelta(hours=2)


def seen(child, stage="4"):
    return stage_snapshot(read(child, TODAY), stage)


def recommend(child, by, surface=MAT, stage="4"):
    return decisions.recommend(child, stage, by, seen(child, stage), LATER, surface)


def sign(child, by, surface=MAT, before=None, now=LATER, seen_on=None):
    seen_on = now.date() if seen_on is None else seen_on
    return decisions.sign(child, "4", by, before or seen(child), now, surface, seen_on)


def at_once(*jobs):
    """Run jobs at the same moment, each on a connection of its own; their codes, "" for done."""
    barrier = threading.Barrier(len(jobs))
    codes = [None] * len(jobs)

    def run(place, job):
        try:
            barrier.wait(timeout=20)
            job()
            codes[place] = ""
        except DecisionRefused as refusal:
            codes[place] = refusal.code
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=each) for each in enumerate(jobs)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return codes
