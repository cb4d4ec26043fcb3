"""The transition table of ISO 15765-2:2016, both roles: the only place that says what follows what.

In: a state and an event. Out: the next state and the actions on the way. The endpoint walks these rows and `diagram`
draws them, so the picture cannot differ from the code. An event that has no row in a state cannot happen there: walking
it is a fault of ours and raises KeyError.

Events of `receive` that classify a frame: `single`, `single_functional`, `first`, `first_too_long`; consecutive frames
by what they mean now: `next`, `block_end`, `last`, `wrong_sn`, `cf_length` (shorter or longer than the first frame
allows), `stray` (nothing waits for it). Of `send`: `continue`, `wait`, `wait_overrun`, `overflow`, `invalid_fs`.
`taken` means handed to the link, `left` that the link has put it on the bus.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from witnessmark.wire.isotp.indication import Reason, Role


@dataclass(frozen=True, slots=True)
class Row:
    """In `state`, `event` leads to `then`, doing `actions` in order; `reason` is what fail and ignore say."""

    role: Role
    state: str
    event: str
    then: str
    actions: tuple[str, ...]
    reason: Reason | str


def _receive(state: str, event: str, then: str, actions: str, reason: Reason | str = "") -> Row:
    return Row("receive", state, event, then, tuple(actions.split()), reason)


def _send(state: str, event: str, then: str, actions: str, reason: Reason | str = "") -> Row:
    return Row("send", state, event, then, tuple(actions.split()), reason)


IDLE = "idle"
# receive
FC_DUE, FC_OUT, AWAIT_CF, HELD = "flow control due", "flow control out", "awaits consecutive", "held"
# send
SF_DUE, SF_OUT, FF_DUE, FF_OUT = "single due", "single out", "first due", "first out"
AWAIT_FC, CF_DUE, CF_OUT = "awaits flow control", "consecutive due", "consecutive out"

_BUSY_RECEIVING = (FC_DUE, FC_OUT, AWAIT_CF, HELD)
_AWAITING_CF = (FC_OUT, AWAIT_CF)  # a consecutive frame proves that our flow control was on the bus
_AWAITING_FC = (FF_OUT, CF_OUT, AWAIT_FC)

TABLE: tuple[Row, ...] = (
    # 9.8.3: unexpected frames. A new message ends the one in progress; consecutive frames out of nowhere are ignored.
    _receive(IDLE, "single", IDLE, "deliver_single"),
    _receive(IDLE, "first", FC_DUE, "begin offer_continue"),
    _receive(IDLE, "first_too_long", IDLE, "refuse", "overflow"),
    _receive(IDLE, "stray", IDLE, "ignore", "unexpected_cf"),
    *(_receive(state, "single", IDLE, "fail deliver_single", "interrupted_by_sf") for state in _BUSY_RECEIVING),
    *(_receive(state, "first", FC_DUE, "fail begin offer_continue", "interrupted_by_ff") for state in _BUSY_RECEIVING),
    *(_receive(state, "first_too_long", IDLE, "fail refuse", "interrupted_by_ff") for state in _BUSY_RECEIVING),
    # A functional single frame is of another address (N_TAtype), so it leaves a physical reception alone.
    *(_receive(state, "single_functional", state, "deliver_single") for state in (IDLE, *_BUSY_RECEIVING)),
    _receive(FC_DUE, "stray", FC_DUE, "ignore", "unexpected_cf"),
    _receive(HELD, "stray", HELD, "ignore", "unexpected_cf"),
    # 9.6.5: our flow control; 9.8.2: N_Ar until it has left, then N_Cr.
    _receive(FC_DUE, "taken", FC_OUT, "start_n_ar"),
    _receive(FC_OUT, "left", AWAIT_CF, "start_n_cr"),
    _receive(FC_OUT, "timeout", IDLE, "fail", "n_timeout_a"),
    *(_receive(state, "next", AWAIT_CF, "append start_n_cr") for state in _AWAITING_CF),
    *(_receive(state, "block_end", FC_DUE, "append offer_continue") for state in _AWAITING_CF),
    *(_receive(state, "last", IDLE, "append deliver") for state in _AWAITING_CF),
    *(_receive(state, "wrong_sn", IDLE, "fail", "wrong_sn") for state in _AWAITING_CF),
    *(_receive(state, "cf_length", state, "ignore", "cf_length") for state in _AWAITING_CF),
    _receive(AWAIT_CF, "timeout", IDLE, "fail", "n_timeout_cr"),
    # 9.6.5.1: a receiver without room says WAIT, at most N_WFTmax times in a row.
    _receive(FC_DUE, "hold", HELD, "withdraw start_n_br"),
    _receive(HELD, "timeout", HELD, "offer_wait start_n_br"),
    _receive(HELD, "wait_overrun", IDLE, "fail", "wft_overrun"),
    _receive(HELD, "release", FC_DUE, "offer_continue"),
    *(_receive(state, "reset", IDLE, "fail", "reset") for state in _BUSY_RECEIVING),
    # The sender: 9.3 unsegmented, 9.4 segmented.
    _send(IDLE, "send_single", SF_DUE, "due_now"),
    _send(SF_DUE, "taken", SF_OUT, "start_n_as"),
    _send(SF_OUT, "left", IDLE, "confirm"),
    _send(SF_OUT, "timeout", IDLE, "fail", "n_timeout_a"),
    _send(IDLE, "send_first", FF_DUE, "due_now"),
    _send(FF_DUE, "taken", FF_OUT, "start_n_as"),
    _send(FF_OUT, "left", AWAIT_FC, "start_n_bs"),
    _send(FF_OUT, "timeout", IDLE, "fail", "n_timeout_a"),
    _send(AWAIT_FC, "timeout", IDLE, "fail", "n_timeout_bs"),
    *(_send(state, "continue", CF_DUE, "new_block due_now") for state in (FF_OUT, AWAIT_FC)),
    *(_send(state, "wait", AWAIT_FC, "count_wait start_n_bs") for state in (FF_OUT, AWAIT_FC)),
    *(_send(state, "wait_overrun", IDLE, "fail", "wft_overrun") for state in (FF_OUT, AWAIT_FC)),
    *(_send(state, "overflow", IDLE, "fail", "overflow") for state in (FF_OUT, AWAIT_FC)),
    *(_send(state, "invalid_fs", IDLE, "fail", "invalid_fs") for state in (FF_OUT, AWAIT_FC)),
    _send(CF_DUE, "taken", CF_OUT, "start_n_as"),
    _send(CF_DUE, "timeout", IDLE, "fail", "n_timeout_cs"),
    _send(CF_OUT, "left", CF_DUE, "due_after_st_min"),
    _send(CF_OUT, "block_left", AWAIT_FC, "start_n_bs"),
    _send(CF_OUT, "last_left", IDLE, "confirm"),
    _send(CF_OUT, "timeout", IDLE, "fail", "n_timeout_a"),
    # 9.8.3: flow control that nothing waits for is ignored.
    *(
        _send(state, event, state, "ignore", "unexpected_fc")
        for state in (IDLE, SF_DUE, SF_OUT, FF_DUE, CF_DUE, CF_OUT)
        for event in ("continue", "wait", "wait_overrun", "overflow", "invalid_fs")
    ),
    *(
        _send(state, "reset", IDLE, "fail", "reset")
        for state in (SF_DUE, SF_OUT, FF_DUE, FF_OUT, AWAIT_FC, CF_DUE, CF_OUT)
    ),
)


class Machine:
    """One role's place in the table. `actions` are the owner's, by the names that the rows use."""

    __slots__ = ("_actions", "_rows", "row", "state")

    def __init__(self, role: Role, actions: Mapping[str, Callable[[], None]]) -> None:
        self.state = IDLE
        self._rows = {(row.state, row.event): row for row in TABLE if row.role == role}
        self._actions = actions
        self.row = next(iter(self._rows.values()))

    def fire(self, event: str) -> None:
        """Walk the row of the present state and `event`; `row` names it while its actions run."""
        row = self.row = self._rows[self.state, event]
        self.state = row.then
        for action in row.actions:
            self._actions[action]()


def diagram(role: Role) -> str:
    """Return the rows of one role as a mermaid state diagram."""
    names = {state: state.title().replace(" ", "") for row in TABLE for state in (row.state, row.then)}
    lines = ["stateDiagram-v2", f"    [*] --> {names[IDLE]}"]
    rows = [row for row in TABLE if row.role == role]
    shown = dict.fromkeys(state for row in rows for state in (row.state, row.then))
    lines += [f"    {names[state]} : {state}" for state in shown]
    for row in rows:
        label = f"{row.event} / {' '.join(row.actions)}" + (f" ({row.reason})" if row.reason else "")
        lines.append(f"    {names[row.state]} --> {names[row.then]} : {label}")
    return "\n".join(lines) + "\n"
