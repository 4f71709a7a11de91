"""Each rule of an evening, as rows of its programme."""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping
from math import inf

from readiness.engine.stations.model import ENOUGH, Aim, Model
from readiness.engine.stations.plan import Fix, FixKind
from readiness.engine.stations.problem import (
    HAND_HEAVY_IN_A_ROW,
    LIFTS_IN_A_ROW,
    LONGEST_WAIT,
    At,
    Post,
    Problem,
    Station,
)

Terms = list[tuple[int, float]]


def ones(variables: Iterable[int]) -> Terms:
    return [(variable, 1.0) for variable in variables]


def everybody_is_somewhere(model: Model) -> None:
    """At one station in each rotation."""
    for child in model.problem.children:
        missing = model.slack(Fix("no-station", person=child.id))
        for rotation in model.problem.rotations_of(child):
            there = ones(model.by_child[child.id, rotation])
            model.programme.row(there, -inf if missing else 1, 1)
            if missing:
                model.programme.row([*there, *ones(missing)], 1)


def nobody_is_twice_at_a_drill(model: Model) -> None:
    """More than once is counted, and costs more than all else that a move of hers could bring."""
    visits: dict[tuple[int, str], list[int]] = defaultdict(list)
    for at, variable in model.at.items():
        visits[at.child, model.drill_of[at.station]].append(variable)
    for (child, drill), variables in visits.items():
        once = max(0, 1 - model.done_at[child, drill])
        model.programme.row([*ones(variables), *_again(model, child, drill)], most=once)


def _again(model: Model, child: int, drill: str) -> Terms:
    return [(model.again[child, drill], -1)] if (child, drill) in model.again else []


def a_station_has_room(model: Model) -> None:
    """Nobody waits too long between turns, and the held turns fit into the rotation."""
    turns = {
        (child.id, work.drill): work.turns
        for child in model.problem.children
        for work in child.works
    }
    for station in model.problem.stations:
        more = model.slack(Fix("at-once", key=station.key), ENOUGH)
        in_a_place = 60 * model.problem.minutes // station.seconds
        room = 60 * model.problem.minutes * station.at_once // station.seconds
        for rotation in model.problem.rotations_of(station):
            there = model.by_station[station.key, rotation]
            children = ones(variable for _, variable in there)
            line, waiting, served = _line(station, children, bool(more))
            held = [(variable, min(room, turns[child, station.drill])) for child, variable in there]
            model.programme.row([*line, *((each, -served) for each in more)], most=waiting)
            model.programme.row([*held, *((each, -in_a_place) for each in more)], most=room)


def _line(station: Station, children: Terms, exact: bool) -> tuple[Terms, float, float]:
    """The line at a station: its terms, their most, and what one more at once adds. exact: to be
    met by whole numbers beside that; else as tight as may be."""
    if exact and station.seconds <= LONGEST_WAIT:
        waits = [(variable, float(station.seconds)) for variable, _ in children]
        return waits, LONGEST_WAIT * station.at_once, LONGEST_WAIT
    return children, station.most, 1


def adults_are_at_their_posts(model: Model) -> None:
    """A station that needs adults is open while they are there, all of them, and somebody has come
    to it. Nobody has two posts at once: the only adult who may stand beside a station does not spot
    meanwhile."""
    wanted = {adult.id: variable for adult, variable in model.newcomers.items()}
    posts: dict[tuple[str, int], list[int]] = defaultdict(list)
    busy: dict[tuple[int, int], list[int]] = defaultdict(list)
    for post, variable in model.post.items():
        posts[post.station, post.rotation].append(variable)
        busy[post.adult, post.rotation].append(variable)
        if post.adult in wanted:
            model.programme.row([(variable, 1), (wanted[post.adult], -1)], most=0)
    for station in model.problem.stations:
        if station.adults:
            _how_often(model, station)
        for rotation in model.problem.rotations_of(station) if station.adults else ():
            opened = model.opened[station.key, rotation]
            adults = ones(posts[station.key, rotation])
            model.programme.row([*adults, (opened, -station.adults)], 0, 0)
            children = ones(each for _, each in model.by_station[station.key, rotation])
            model.programme.row([*children, (opened, -1)], 0)
            for child in children:
                model.programme.row([child, (opened, -1)], most=0)
    for variables in busy.values():
        model.programme.row(ones(variables), most=1)


def _how_often(model: Model, station: Station) -> None:
    """In how many rotations it is open, which is said so that the search can decide it first:
    rotations are much alike, and which of them it is matters little."""
    opened = [model.opened[station.key, r] for r in model.problem.rotations_of(station)]
    often = model.programme.variable(upper=len(opened))
    model.frame.add(often)
    model.programme.row([(often, -1), *ones(opened)], 0, 0)


def an_adult_is_in_the_room(model: Model) -> None:
    supervising = [adult for adult in model.problem.adults if adult.supervises]
    here = {r for adult in supervising for r in model.problem.rotations_of(adult)}
    wanted = [variable for adult, variable in model.newcomers.items() if adult.supervises]
    for rotation in range(model.problem.start, model.problem.rotations):
        if rotation not in here:
            children = [each for at, each in model.at.items() if at.rotation == rotation]
            enough = ((variable, -len(children)) for variable in wanted)
            model.programme.row([*ones(children), *enough], most=0)


def spotters_rest(model: Model) -> None:
    spotted = {station.key for station in model.problem.stations if station.spotters}
    lifts: dict[tuple[int, int], list[int]] = defaultdict(list)
    for post, variable in model.post.items():
        if post.station in spotted:
            lifts[post.adult, post.rotation].append(variable)
    done = {
        (post.adult, post.rotation)
        for post in model.problem.done
        if isinstance(post, Post) and post.station in spotted
    }
    for adult in model.adults:
        for window in _windows(model, LIFTS_IN_A_ROW + 1):
            so_far = sum((adult.id, rotation) in done for rotation in window)
            variables = [each for rotation in window for each in lifts[adult.id, rotation]]
            if variables:
                model.programme.row(ones(variables), most=LIFTS_IN_A_ROW - so_far)


def hands_are_spared(model: Model) -> None:
    """No hand-heavy stations so many times in a row."""
    heavy = {station.key for station in model.problem.stations if station.hand_heavy}
    on_hands: dict[tuple[int, int], list[int]] = defaultdict(list)
    for at, variable in model.at.items():
        if at.station in heavy:
            on_hands[at.child, at.rotation].append(variable)
    done = {
        (at.child, at.rotation)
        for at in model.problem.done
        if isinstance(at, At) and at.station in heavy
    }
    for child in model.problem.children:
        for window in _windows(model, HAND_HEAVY_IN_A_ROW):
            so_far = sum((child.id, rotation) in done for rotation in window)
            variables = [each for rotation in window for each in on_hands[child.id, rotation]]
            most = HAND_HEAVY_IN_A_ROW - 1 - so_far
            if variables:
                model.programme.row(ones(variables), most=most)


def _windows(model: Model, length: int) -> list[range]:
    """So many rotations in a row, the last of them still to be planned."""
    last = range(max(model.problem.start, length - 1), model.problem.rotations)
    return [range(rotation - length + 1, rotation + 1) for rotation in last]


def first_turns_are_held(model: Model) -> None:
    """Nobody is where there are too few spotters for the day's first turn before she was held."""
    spotters = {station.key: station.spotters for station in model.problem.stations}
    first = {
        (child.id, work.drill): work.first
        for child in model.problem.children
        for work in child.works
        if work.first is not None
    }

    def is_held(at: At) -> bool:
        return spotters[at.station] >= first.get((at.child, model.drill_of[at.station]), 0)

    held: dict[tuple[int, str], list[tuple[int, int]]] = defaultdict(list)
    done = {
        (at.child, model.drill_of[at.station])
        for at in model.problem.done
        if isinstance(at, At) and is_held(at)
    }
    for at, variable in model.at.items():
        if is_held(at):
            held[at.child, model.drill_of[at.station]].append((at.rotation, variable))
    for at, variable in model.at.items():
        whose = (at.child, model.drill_of[at.station])
        if not is_held(at) and whose not in done:
            before = ((each, -1) for rotation, each in held[whose] if rotation < at.rotation)
            model.programme.row([(variable, 1), *before], most=0)


def the_hall_has_it(model: Model) -> None:
    """Equipment and places, for all stations that are set up; of what is not scarce nothing is
    said."""
    hall, stations = model.problem.hall, model.problem.stations
    needs: list[tuple[Fix, int, dict[str, int]]] = [
        (Fix("wall"), len(hall.wall), {each.key: each.wall for each in stations}),
        (Fix("floor"), len(hall.floor), {each.key: each.floor for each in stations}),
    ]
    for kind in sorted({kind for each in stations for kind in each.equipment}):
        need = {each.key: each.equipment.get(kind, 0) for each in stations}
        needs.append((Fix("equipment", key=kind), hall.equipment.get(kind, 0), need))
    scarce = [each for each in needs if sum(each[2].values()) > each[1]]
    wanted = sorted({key for _, _, need in scarce for key, many in need.items() if many})
    set_up = {key: model.programme.variable() for key in wanted}
    model.frame.update(set_up.values())
    _only_what_is_set_up(model, set_up)
    for fix, there_are, need in scarce:
        taken = [(set_up[key], many) for key, many in need.items() if many]
        more = ((each, -1) for each in model.slack(fix, ENOUGH))
        model.programme.row([*taken, *more], most=there_are)


def _only_what_is_set_up(model: Model, set_up: Mapping[str, int]) -> None:
    """Said of each child's whole evening, which binds much closer than of each rotation."""
    visits: dict[tuple[int, str], list[int]] = defaultdict(list)
    for at, variable in model.at.items():
        if at.station in set_up:
            visits[at.child, at.station].append(variable)
            if (at.child, model.drill_of[at.station]) in model.again:
                model.programme.row([(variable, 1), (set_up[at.station], -1)], most=0)
    for (child, station), variables in visits.items():
        again = _again(model, child, model.drill_of[station])
        model.programme.row([*ones(variables), *again, (set_up[station], -1)], most=0)
    for (station, _), opened in model.opened.items():
        if station in set_up:
            model.programme.row([(opened, 1), (set_up[station], -1)], most=0)


def a_split_station_is_two(model: Model) -> None:
    """Somebody is at its second place, and each rotation's children are shared evenly."""
    everybody = len(model.problem.children)
    for second in model.problem.stations:
        if not second.second_of:
            continue
        given_up = model.slack(Fix("split", key=second.second_of))
        used = ones(given_up)
        for rotation in model.problem.rotations_of(second):
            here = [each for _, each in model.by_station[second.key, rotation]]
            there = ones(each for _, each in model.by_station[second.second_of, rotation])
            more = [*there, *((each, -1) for each in here)]
            model.programme.row([*more, *((each, everybody) for each in given_up)], 0)
            model.programme.row([*more, *((each, -everybody) for each in given_up)], most=1)
            used += ones(here)
        if all(each.station != second.key for each in model.problem.done):
            model.programme.row(used, 1)


def what_was_settled_stays(model: Model) -> None:
    def variable_of(each: At | Post) -> list[int]:
        found = model.at.get(each) if isinstance(each, At) else model.post.get(each)
        return [] if found is None else [found]

    for each in sorted(model.problem.locked, key=repr):
        given_up = model.slack(Fix("lock", settled=each))
        model.programme.row(ones([*variable_of(each), *given_up]), least=1)
    for each in sorted(model.problem.banned, key=repr):
        for variable in variable_of(each):
            given_up = model.slack(Fix("ban", settled=each))
            model.programme.row([(variable, 1), *((slack, -1) for slack in given_up)], most=0)


RULES: tuple[Callable[[Model], None], ...] = (
    everybody_is_somewhere,
    nobody_is_twice_at_a_drill,
    a_station_has_room,
    adults_are_at_their_posts,
    an_adult_is_in_the_room,
    spotters_rest,
    hands_are_spared,
    first_turns_are_held,
    the_hall_has_it,
    a_split_station_is_two,
    what_was_settled_stays,
)


def build(
    problem: Problem,
    aim: Aim = "worth",
    near: Collection[At | Post] = (),
    free: Collection[FixKind] = (),
) -> Model:
    """The programme of an evening, with every rule."""
    model = Model(problem, aim, near, free)
    for rule in RULES:
        rule(model)
    return model
