"""Every rule of an evening of stations, checked on a plan by going through it: no solver, and
nothing of the planner's but the words in which problem and plan are said."""

from collections import Counter, defaultdict

from readiness.engine.stations.problem import At, Post


def broken_rules(problem, plan):
    """The names of the rules that a plan breaks."""
    return {
        name
        for name, holds in RULES.items()
        if not holds(_Evening(problem, list(plan.at), list(plan.posts), plan))
    }


class _Evening:
    def __init__(self, problem, at, posts, plan):
        self.problem, self.at, self.posts, self.plan = problem, at, posts, plan
        self.rotations = range(problem.start, problem.rotations)
        self.station = {each.key: each for each in problem.stations}
        self.adult = {each.id: each for each in problem.adults}
        self.work = {(c.id, w.drill): w for c in problem.children for w in c.works}
        self.there = defaultdict(list)
        for each in at:
            self.there[each.station, each.rotation].append(each.child)
        self.standing = defaultdict(list)
        for each in posts:
            self.standing[each.station, each.rotation].append(each.adult)
        self.all_at = [each for each in problem.done if isinstance(each, At)] + at
        self.all_posts = [each for each in problem.done if isinstance(each, Post)] + posts

    def of(self, at):
        """The child's work where she is, or None."""
        return self.work.get((at.child, self.station[at.station].drill))


def is_here(who, rotation):
    return who.present is None or rotation in who.present


def everybody_is_at_one_station(e):
    wanted = {(c.id, r) for c in e.problem.children for r in e.rotations if is_here(c, r)}
    return Counter((a.child, a.rotation) for a in e.at) == Counter(wanted)


def nobody_is_where_she_may_not_be(e):
    return all(e.of(a) is not None for a in e.at)


def support_can_be_given(e):
    return all(e.of(a) is None or e.of(a).spotters <= e.station[a.station].spotters for a in e.at)


def stations_are_there(e):
    return all(is_here(e.station[each.station], each.rotation) for each in e.at + e.posts)


def nobody_waits_over_two_minutes(e):
    for (key, _), children in e.there.items():
        station = e.station[key]
        together = len(children) <= station.at_once
        if not together and len(children) / station.at_once * station.seconds > 120:
            return False
    return True


def held_turns_fit(e):
    for (key, _), children in e.there.items():
        station = e.station[key]
        room = e.problem.minutes * 60 * station.at_once // station.seconds
        works = [e.work.get((child, station.drill)) for child in children]
        turns = [min(room, work.turns) for work in works if work]
        if sum(turns) > room:
            return False
    return True


def stations_have_their_adults(e):
    return all(
        len(e.standing[key, rotation]) == _adults(e.station[key])
        for key, rotation in [*e.there, *e.standing]
        if e.there[key, rotation] or e.standing[key, rotation]
    )


def _adults(station):
    if station.spotters:
        return station.spotters
    return 0 if station.adult == "room" else 1


def adults_may_what_they_do(e):
    for post in e.posts:
        adult, station = e.adult.get(post.adult), e.station[post.station]
        if adult is None or not is_here(adult, post.rotation):
            return False
        if not (station.drill in adult.spots if station.spotters else adult.supervises):
            return False
    return True


def nobody_has_two_posts(e):
    return max(Counter((p.adult, p.rotation) for p in e.posts).values(), default=0) <= 1


def the_only_adult_does_not_spot_beside(e):
    for rotation in e.rotations:
        adults = [a.id for a in e.problem.adults if a.supervises and is_here(a, rotation)]
        spots = {
            p.adult for p in e.posts if p.rotation == rotation and e.station[p.station].spotters
        }
        beside = any(
            children and r == rotation and e.station[key].adult != "room"
            and not e.station[key].spotters
            for (key, r), children in e.there.items()
        )  # fmt: skip
        if len(adults) == 1 and adults[0] in spots and beside:
            return False
    return True


def an_adult_is_in_the_room(e):
    return all(
        any(a.supervises and is_here(a, each.rotation) for a in e.problem.adults) for each in e.at
    )


def spotters_rest(e):
    lifts = defaultdict(set)
    for post in e.all_posts:
        if e.station[post.station].spotters:
            lifts[post.adult].add(post.rotation)
    return all(not _in_a_row(each, 4, e.problem.start) for each in lifts.values())


def hands_are_spared(e):
    heavy = defaultdict(set)
    for at in e.all_at:
        if e.station[at.station].hand_heavy:
            heavy[at.child].add(at.rotation)
    return all(not _in_a_row(each, 3, e.problem.start) for each in heavy.values())


def _in_a_row(rotations, many, start):
    return any(r >= start and all(r - back in rotations for back in range(many)) for r in rotations)


def first_turns_are_held(e):
    for at in e.at:
        work = e.of(at)
        if work is None or work.first is None or e.station[at.station].spotters >= work.first:
            continue
        before = [
            other
            for other in e.all_at
            if other.child == at.child and other.rotation < at.rotation
            and e.station[other.station].drill == work.drill
            and e.station[other.station].spotters >= work.first
        ]  # fmt: skip
        if not before:
            return False
    return True


def nobody_is_twice_where_another_place_is_free(e):
    """Of a plan that is proven best. Held turns of her own: never twice."""
    seen = defaultdict(list)
    for at in sorted(e.all_at, key=lambda each: each.rotation):
        drill = e.station[at.station].drill
        if drill in seen[at.child] and at.rotation >= e.problem.start:
            work = e.of(at)
            if work is not None and work.turns:
                return False
            if not e.plan.bound and _another_place(e, at):
                return False
        seen[at.child].append(drill)
    return True


def _another_place(e, at):
    """A station that is open in the rotation, of a drill that she is at in none, where all rules
    would hold with her there instead."""
    if at in e.problem.locked:
        return False
    been = {e.station[other.station].drill for other in e.all_at if other.child == at.child}
    for (key, rotation), children in list(e.there.items()):
        station = e.station[key]
        moved = At(at.child, key, rotation)
        alone = e.there[at.station, rotation] == [at.child] and e.standing[at.station, rotation]
        if rotation != at.rotation or not children or station.drill in been or alone:
            continue
        others = [moved if other == at else other for other in e.at]
        if not any(
            name != "twice" and not holds(_Evening(e.problem, others, e.posts, e.plan))
            for name, holds in RULES.items()
        ):
            return True
    return False


def the_hall_has_it(e):
    used = [e.station[key] for key in {at.station for at in e.at}]
    kinds = Counter()
    for station in used:
        kinds.update(station.equipment)
    hall = e.problem.hall
    return (
        all(many <= hall.equipment.get(kind, 0) for kind, many in kinds.items())
        and sum(station.wall for station in used) <= len(hall.wall)
        and sum(station.floor for station in used) <= len(hall.floor)
    )


def each_place_is_given_once(e):
    places = e.plan.places
    if set(places) != {at.station for at in e.at}:
        return True
    walls = [place for wall, _ in places.values() for place in wall]
    floors = [place for _, floor in places.values() for place in floor]
    return (
        len(set(walls)) == len(walls)
        and len(set(floors)) == len(floors)
        and all(
            (len(wall), len(floor)) == (e.station[key].wall, e.station[key].floor)
            for key, (wall, floor) in places.items()
        )
    )


def a_split_station_is_two(e):
    for second in e.problem.stations:
        if not second.second_of:
            continue
        counts = [
            (len(e.there[second.second_of, r]), len(e.there[second.key, r]))
            for r in e.rotations
            if is_here(second, r)
        ]
        before = any(each.station == second.key for each in e.problem.done)
        if any(there - here not in (0, 1) for there, here in counts):
            return False
        if not before and not any(here for _, here in counts):
            return False
    return True


def what_was_settled_stays(e):
    there = {*e.at, *e.posts}
    return e.problem.locked <= there and not e.problem.banned & there


RULES = {
    "one-station": everybody_is_at_one_station,
    "may": nobody_is_where_she_may_not_be,
    "support": support_can_be_given,
    "present": stations_are_there,
    "wait": nobody_waits_over_two_minutes,
    "turns": held_turns_fit,
    "adults": stations_have_their_adults,
    "trained": adults_may_what_they_do,
    "two-posts": nobody_has_two_posts,
    "only-adult": the_only_adult_does_not_spot_beside,
    "adult-in-room": an_adult_is_in_the_room,
    "rest": spotters_rest,
    "hands": hands_are_spared,
    "first": first_turns_are_held,
    "twice": nobody_is_twice_where_another_place_is_free,
    "hall": the_hall_has_it,
    "places": each_place_is_given_once,
    "split": a_split_station_is_two,
    "settled": what_was_settled_stays,
}
