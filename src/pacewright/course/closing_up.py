"""Bringing the last home earlier: some learners are taken off and fitted in again as well as can be.

How they fit best is a question of whole numbers (each learner a lane and a start, no two at one post at
once) that the HiGHS solver answers. On a course with few lanes it answers for the whole class and so proves
the best.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from pacewright.course.sending_off import Land, Sent, drawn_round
from pacewright.course.timetable import Clockwork, Taken

Ints = NDArray[np.intp]

NODE_LIMIT: Final = 20
"""How far the solver looks before a question stays open. Not a time: one seed then gives one course on a
slow machine as well."""
_MOST_COLUMNS: Final = 300
_REFITTED: Final = 6
_FEW_COLUMNS: Final = 1_200
_FEW_ASKED_WHOLE: Final = 400
_IDLE_ROUNDS: Final = 12


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """What the solver found.

    Attributes
    ----------
    chosen
        Numbers of the lanes chosen; None where there is no set or none was found.
    is_proof
        True where `chosen` is best, or where there is proved to be no set.
    """

    chosen: Ints | None
    is_proof: bool


def fitted(
    clockwork: Clockwork, lanes: Ints, start_min: Ints, learners: int, cost: Any, *, whole: bool = True
) -> Fit:
    """Choose lanes with starts so that no two learners are at one post at once, at the least cost.

    Parameters
    ----------
    clockwork
        Minutes and windows.
    lanes, start_min
        What there is to choose from, shapes (choices, legs + 1) and (choices,).
    learners
        How many to choose.
    cost
        Of every choice, shape (choices,).
    whole
        False to let learners be split among choices: nothing is chosen then, but where even that cannot
        be done, nothing can, and the answer comes soon.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    if len(lanes) < learners:
        return Fit(None, is_proof=True)
    result = milp(
        c=cost,
        integrality=np.full(len(lanes), int(whole)),
        bounds=Bounds(0.0, 1.0),
        constraints=[
            LinearConstraint(np.ones((1, len(lanes))), learners, learners),
            LinearConstraint(_at_once(clockwork, lanes, start_min), -np.inf, 1.0),
        ],
        options={"node_limit": NODE_LIMIT},
    )
    if result.x is None:
        return Fit(None, is_proof=result.status == 2)
    if not whole:
        return Fit(None, is_proof=False)
    return Fit(np.flatnonzero(result.x > 0.5), is_proof=result.status == 0)


def closed_up(
    land: Land,
    sent: Sent,
    bound: int,
    rounds: int,
    horizon_min: int,
    rng: np.random.Generator,
    progress: Callable[[float], None],
) -> Sent:
    """The same class with its last home no later, and earlier where that was found.

    Parameters
    ----------
    land, sent
        The lanes there are, and the class as it stands.
    bound
        The last home can be no earlier; reached, there is nothing more to do.
    rounds
        How often some learners are fitted in again at the most.
    horizon_min
        Beyond every minute at which anyone can be at a post.
    rng
        Chance.
    progress
        Told the share done.
    """
    home, idle = land.clockwork.last_home(sent.lanes, sent.start_min), 0
    for one in range(rounds):
        if idle == _IDLE_ROUNDS or home <= bound:
            break
        sent = _refitted(land, sent, horizon_min, rng)
        before, home = home, land.clockwork.last_home(sent.lanes, sent.start_min)
        idle = idle + 1 if home == before else 0
        progress((one + 1) / rounds)
    return sent


def proved(land: Land, sent: Sent, bound: int) -> tuple[Sent, int]:
    """The best class and a bound that meets it, where the lanes are few enough to ask about all.

    Returns
    -------
    (Sent, int)
        As they came where the lanes are too many, else as far as the solver got: halving between the bound
        and the last home.
    """
    clockwork, learners = land.clockwork, len(sent.lanes)
    done = clockwork.arrivals(land.pool)[:, -1] + clockwork.at_post_min
    # From here on the question is answered, or known to stay open.
    settled = clockwork.last_home(sent.lanes, sent.start_min)
    while land.is_all and bound < settled:
        by = (bound + settled) // 2
        while by > bound and _starts_by(by, done).sum() > _FEW_COLUMNS:
            by -= 1
        starts = _starts_by(by, done)
        if starts.sum() > _FEW_COLUMNS:
            break
        lanes = np.repeat(land.pool, starts, axis=0)
        minutes = np.concatenate([np.arange(n) for n in starts]).astype(np.intp)
        fit = fitted(clockwork, lanes, minutes, learners, np.zeros(len(lanes)), whole=False)
        if not fit.is_proof and len(lanes) <= _FEW_ASKED_WHOLE:
            fit = fitted(clockwork, lanes, minutes, learners, np.zeros(len(lanes)))
        if fit.chosen is not None:
            sent = Sent(lanes[fit.chosen], minutes[fit.chosen])
            settled = clockwork.last_home(sent.lanes, sent.start_min)
        elif fit.is_proof:
            bound = by + 1
        else:
            settled = by
    return sent, bound


def _starts_by(home_min: int, done: Ints) -> Ints:
    """From how many starts each lane is done by a minute."""
    return np.asarray(np.maximum(home_min - done + 1, 0), dtype=np.intp)


def _refitted(land: Land, sent: Sent, horizon_min: int, rng: np.random.Generator) -> Sent:
    clockwork, learners = land.clockwork, len(sent.lanes)
    out = _taken_off(clockwork, sent, rng)
    stays = np.setdiff1d(np.arange(learners), out)
    taken = Taken(clockwork, horizon_min)
    for learner in stays:
        taken.add(sent.lanes[learner], int(sent.start_min[learner]))
    lanes, starts = _choices(land, sent, taken, stays, int(sent.start_min.max()), rng)
    lanes = np.concatenate([sent.lanes[out], lanes])
    starts = np.concatenate([sent.start_min[out], starts])
    # The square makes one learner who is very late dearer than several who are a little late.
    done = (clockwork.arrivals(lanes)[:, -1] + starts).astype(np.float64)
    cost = (done - done.min() + 1.0) ** 2
    fit = fitted(clockwork, lanes, starts, out.size, cost / cost.max())
    if fit.chosen is None or cost[fit.chosen].sum() >= cost[: out.size].sum():
        return sent
    return Sent(
        np.concatenate([sent.lanes[stays], lanes[fit.chosen]]),
        np.concatenate([sent.start_min[stays], starts[fit.chosen]]),
    )


def _taken_off(clockwork: Clockwork, sent: Sent, rng: np.random.Generator) -> Ints:
    """The learners to fit in again: half of them the last to be home, half anyone."""
    learners = len(sent.lanes)
    done = clockwork.arrivals(sent.lanes)[:, -1] + sent.start_min
    late = np.argsort(-done, kind="stable")[: min(_REFITTED // 2, learners)]
    rest = np.setdiff1d(np.arange(learners), late)
    others = rng.choice(rest, size=min(_REFITTED - late.size, rest.size), replace=False)
    return np.concatenate([late, others]).astype(np.intp)


def _choices(
    land: Land, sent: Sent, taken: Taken, stays: Ints, latest_min: int, rng: np.random.Generator
) -> tuple[Ints, Ints]:
    """Lanes with starts before the latest that meet none of those who stay."""
    used = {lane.tobytes() for lane in sent.lanes[stays]}
    arrivals = land.clockwork.arrivals(land.pool)
    lanes, starts = [land.pool[:0]], [np.zeros(0, dtype=np.intp)]
    found = 0
    for start in rng.permutation(latest_min).tolist():
        free = land.pool[taken.is_free(land.pool, arrivals, start)]
        if not land.is_all:
            free = np.concatenate([free, drawn_round(land, taken, start, rng)])
        free = free[[one.tobytes() not in used for one in free]] if len(free) else free
        lanes.append(free)
        starts.append(np.full(len(free), start, dtype=np.intp))
        found += len(free)
        if found > _MOST_COLUMNS:
            break
    return np.concatenate(lanes)[:_MOST_COLUMNS], np.concatenate(starts)[:_MOST_COLUMNS]


def _at_once(clockwork: Clockwork, lanes: Ints, start_min: Ints) -> Any:
    """The rows of which at most one choice may hold: a post or a leg in a minute, and a lane.

    A choice holds its post from its arrival for the window: two that share a minute are too near. So it is
    with its legs and their window.
    """
    from scipy.sparse import csr_array

    watched = clockwork.watched
    posts = lanes[:, :watched].ravel()
    minutes = (clockwork.arrivals(lanes)[:, :watched] + start_min[:, None]).ravel()
    choice = np.repeat(np.arange(len(lanes)), watched)
    window = clockwork.window_min[posts]
    if clockwork.leg_window_min:
        legs = clockwork.window_min.size + clockwork.leg_numbers()[lanes[:, :-1], lanes[:, 1:]].ravel()
        begun = (clockwork.settings_out(lanes) + start_min[:, None]).ravel()
        posts, minutes = np.concatenate([posts, legs]), np.concatenate([minutes, begun])
        choice = np.concatenate([choice, np.repeat(np.arange(len(lanes)), lanes.shape[1] - 1)])
        window = np.concatenate([window, np.full(legs.size, clockwork.leg_window_min)])
    visit = np.repeat(np.arange(posts.size), window)
    minute = minutes[visit] + np.arange(visit.size) - np.repeat(np.cumsum(window) - window, window)
    _, lane = np.unique(lanes, axis=0, return_inverse=True)
    key = posts[visit] * (int(minute.max(initial=0)) + 1) + minute
    different, row, count = np.unique(key, return_inverse=True, return_counts=True)
    row, lane = row.ravel(), lane.ravel()
    # Whoever shares a minute shares the one in which the later of them arrives: the other rows say no more.
    is_arrival = np.isin(different, posts * (int(minute.max(initial=0)) + 1) + minutes)
    shared = (count > 1)[row] & is_arrival[row]
    rows = np.concatenate([row[shared], count.size + lane])
    columns = np.concatenate([choice[visit][shared], np.arange(len(lanes))])
    used, rows = np.unique(rows, return_inverse=True)
    return csr_array((np.ones(rows.size), (rows.ravel(), columns)), shape=(used.size, len(lanes)))
