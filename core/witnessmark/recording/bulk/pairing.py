"""Answers to their requests, all at once, by the rule of `recording.pairing`. In: what was told on the lines found,
their heads, who may answer whom. Out: for each row the conversation it belongs to.

What the arithmetic here cannot do as the rule says gives None, and the plain pairing does it: requests whose times go
back, a 0x78 that came too late to count, late answers of a unit that stated a longer P2*, and answers that repeat
another identifier than was asked for last.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from witnessmark.recording.bulk.heads import Heads
from witnessmark.recording.bulk.reassembly import Table, Told
from witnessmark.recording.finding import Found
from witnessmark.recording.pairing import ECHOED, MARGIN_NS, WINDOW_NS
from witnessmark.wire.uds.codes import RESPONSE_PENDING

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[Any]


def pair_rows(told: Told, start: Array, heads: Heads, found: Found) -> Array | None:
    """Return for each row the row that opened its conversation: its own for requests and what stands alone."""
    import numpy as np

    table = told.table
    asks = table.whole & ~heads.is_response & (heads.service >= 0)
    requests = np.flatnonzero(asks)
    answers = np.flatnonzero(heads.is_response)
    opener = np.arange(table.line.size)
    asked_ns = table.last_ns[requests]
    if not requests.size or not answers.size:
        return opener
    if (asked_ns[1:] < asked_ns[:-1]).any():
        return None
    # How many requests, of all, were told and complete before each answer began.
    before = np.minimum(
        np.searchsorted(requests, answers), np.searchsorted(asked_ns, table.first_ns[answers], side="right")
    )
    latest = _latest(told, heads, found, requests, answers, before)
    known = latest >= 0
    answers, of = answers[known], requests[latest[known]]
    pending = (heads.response_code[answers] == RESPONSE_PENDING) & table.whole[answers]
    since_ns = _since_ns(table, answers, of, pending)
    in_time = table.first_ns[answers] - since_ns <= WINDOW_NS
    if (pending & ~in_time).any() or (not in_time.all() and _states_longer(told, start)):
        return None
    if _differs(heads, answers, of).any():
        return None
    opener[answers[in_time]] = of[in_time]
    return opener


def _states_longer(told: Told, start: Array) -> bool:
    """Say whether any session answer states a P2* beyond the window."""
    import numpy as np

    table = told.table
    at = table.at[(start[:, 0] == 0x50) & (table.size >= 6) & table.whole]
    stated = told.payloads[at + 4].astype(np.int64) << 8 | told.payloads[at + 5]
    return bool((stated * 10_000_000 + MARGIN_NS > WINDOW_NS).any())


def _differs(heads: Heads, answers: Array, of: Array) -> Array:
    """Tell the positive answers that repeat another identifier than their request's (`recording.pairing.differs`)."""
    import numpy as np

    asked, answered = heads.identifier[of], heads.identifier[answers]
    echoed = np.isin(heads.service[answers], list(ECHOED)) & ~heads.negative[answers]
    found: Array = echoed & (asked >= 0) & (answered >= 0) & (asked != answered)
    return found


def _latest(told: Told, heads: Heads, found: Found, requests: Array, answers: Array, before: Array) -> Array:
    """Number, among the requests, the latest one that each answer may answer; -1 for none."""
    import numpy as np

    table, index = told.table, {line: number for number, line in enumerate(told.frames.lines)}
    most = max((len(known) for known in found.requesters.values()), default=0)
    may = np.full((len(index), most), -1, np.int64)
    for line, known in found.requesters.items():
        may[index[line], : len(known)] = [index[one] for one in known]
    many = requests.size + 1
    # One number that sorts by line, service, order of asking.
    numbers = (table.line[requests].astype(np.int64) << 8 | heads.service[requests]) * many + np.arange(requests.size)
    order = np.argsort(numbers)
    sorted_numbers = numbers[order]
    latest = np.full(answers.size, -1, np.int64)
    for slot in range(most):
        line = may[table.line[answers], slot]
        group = line << 8 | heads.service[answers]
        at = np.searchsorted(sorted_numbers, group * many + before) - 1
        hit = (line >= 0) & (at >= 0) & (sorted_numbers[at] // many == group)
        latest[hit] = np.maximum(latest[hit], order[at[hit]])
    return latest


def _since_ns(table: Table, answers: Array, of: Array, pending: Array) -> Array:
    """Return from when the window counts: the request, or the latest 0x78 before on the answer's line."""
    import numpy as np

    since_ns = table.last_ns[of].copy()
    if not pending.any():
        return since_ns
    order = np.lexsort((answers, table.line[answers], of))
    waits = -1
    group = (-1, -1)
    # Only groups with a 0x78 are walked; there are few.
    with_pending = np.isin(of, of[pending])
    for place in order[with_pending[order]]:
        row = int(answers[place])
        key = int(of[place]), int(table.line[row])
        if key != group:
            group, waits = key, -1
        if waits >= 0:
            since_ns[place] = table.last_ns[waits]
        if pending[place]:
            waits = row
    return since_ns
