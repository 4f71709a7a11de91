def test_turns_are_kept(log, cast):
    log(cast.mai, "log-roll", "1101")
    from readiness.models import DayTally, Standing
    t = DayTally.objects.get()
    assert (t.turns, t.clean, t.graded) == (4, 3, 4)
    assert Standing.objects.get().reading["stages"][0]["state"] == "open"
