"""The hands around the practice truck: what a technician can do and read, each as one act.

An act, an item and an amount flow in as text, what is seen then flows out as text (`ok` where nothing is read); which
acts there are stands in `acts`. Rules that hold here: hands may do what is unwise, and the truck remembers it; what
cannot be done with hands raises InputError and changes nothing.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal, InvalidOperation
from typing import NoReturn

from witnessmark.errors import InputError
from witnessmark_practice.elsewhere import ASKED
from witnessmark_practice.faults import parse_fault
from witnessmark_practice.hydraulics import RESERVOIR_ML
from witnessmark_practice.identity import SOFTWARE, with_software
from witnessmark_practice.vehicle import Opening, Truck
from witnessmark_practice.wire_commands import WIRE_COMMANDS

HIGHEST_BAR = 4.0
MOST_BYTES = 4095
KEEP = "keep"
NOBODY = "nobody took it"
_PRESSED_BAR = 0.05
_SOFTWARE = re.compile(r"[0-9A-Za-z](?:[0-9A-Za-z.-]{0,18}[0-9A-Za-z])?")


class Hands:
    """What hands do to one truck; the truck has been moved on to the present before."""

    def __init__(self, truck: Truck) -> None:
        self._truck = truck
        self._acts: dict[str, Callable[[str, str], str]] = {
            "wake": self._wake,
            "sleep": self._sleep,
            "park": self._park,
            "roll": self._roll,
            "supply": self._supply,
            "traffic": self._traffic,
            "draw-off": self._draw_off,
            "refill": self._refill,
            "fit-feed": self._fit_feed,
            "remove-feed": self._remove_feed,
            "pressurise": self._pressurise,
            "depressurise": self._depressurise,
            "open": self._open,
            "close": self._close,
            "pedal": self._pedal,
            "empty-bottle": self._empty_bottle,
            "read": self._read,
            "fault": self._fault,
            "software": self._software,
            "tester": self._tester,
            "elsewhere": self._elsewhere,
        }

    def do(self, act: str, item: str, amount: str) -> str:
        """Do one act. Raises InputError for an act, item or amount that the truck does not have."""
        chosen = self._acts.get(act)
        if chosen is None:
            _refuse(f"{act!r} is not something hands can do", "act", f"one of: {', '.join(self._acts)}, truth")
        return chosen(item, amount)

    def _wake(self, item: str, amount: str) -> str:
        self._truck.around.wake(self._truck.now_s)
        return "ok"

    def _sleep(self, item: str, amount: str) -> str:
        self._truck.around.sleep(self._truck.now_s)
        return "ok"

    def _park(self, item: str, amount: str) -> str:
        self._truck.around.speed_kmh, self._truck.around.gear = 0, "P"
        return "ok"

    def _roll(self, item: str, amount: str) -> str:
        self._truck.around.speed_kmh = round(_amount(amount or item, "km/h", 3, 100))
        self._truck.around.gear = "N"
        return "ok"

    def _supply(self, item: str, amount: str) -> str:
        self._truck.around.feed(_switch(item))
        return "ok"

    def _traffic(self, item: str, amount: str) -> str:
        self._truck.traffic.on = _switch(item)
        return "ok"

    def _draw_off(self, item: str, amount: str) -> str:
        self._truck.fluid.draw_off(_amount(amount or item, "mL", 100, RESERVOIR_ML))
        return f"{self._truck.fluid.level_ml:.0f} mL"

    def _refill(self, item: str, amount: str) -> str:
        fluid = self._truck.fluid
        if fluid.feed_bar > _PRESSED_BAR:
            _refuse(f"{fluid.feed_bar:.1f} bar stand on the reservoir", "refill", "depressurise first")
        room = RESERVOIR_ML - fluid.level_ml
        volume = _amount(amount or item, "mL", room, RESERVOIR_ML)
        if volume > room + 1e-6:
            _refuse(f"only {room:.0f} mL fit", "refill", "pour in less")
        fluid.refill(volume)
        return f"{fluid.level_ml:.0f} mL"

    def _fit_feed(self, item: str, amount: str) -> str:
        self._truck.fluid.feed_fitted = True
        return "ok"

    def _remove_feed(self, item: str, amount: str) -> str:
        fluid = self._truck.fluid
        pressed = fluid.feed_bar > _PRESSED_BAR
        fluid.feed_fitted, fluid.feed_bar = False, 0.0
        if pressed:
            self._remark("feed removed under pressure")
        return "fluid sprays out" if pressed else "ok"

    def _pressurise(self, item: str, amount: str) -> str:
        fluid = self._truck.fluid
        if not fluid.feed_fitted:
            _refuse("no feed is fitted", "pressurise", "fit-feed first")
        fluid.feed_bar = _amount(amount or item, "bar", 2.0, HIGHEST_BAR)
        return f"{fluid.feed_bar:.2f} bar"

    def _depressurise(self, item: str, amount: str) -> str:
        self._truck.fluid.feed_bar = 0.0
        return "0.00 bar"

    def _open(self, item: str, amount: str) -> str:
        line = self._truck.fluid.lines[self._nipple(item)]
        if not line.opening:
            line.opening = 1.0
            self._truck.openings.append(Opening(item, self._truck.now_s))
        return "ok"

    def _close(self, item: str, amount: str) -> str:
        line = self._truck.fluid.lines[self._nipple(item)]
        torque = _amount(amount, "N.m", 8, 30)
        if line.opening:
            line.opening = 0.0
            opening = next(one for one in reversed(self._truck.openings) if one.nipple == item)
            opening.closed_s, opening.torque = self._truck.now_s, f"{torque:g} N.m"
        return "ok"

    def _empty_bottle(self, item: str, amount: str) -> str:
        fluid = self._truck.fluid
        held = fluid.bottle_ml
        fluid.emptied_ml += held
        return f"{held:.0f} mL"

    def _pedal(self, item: str, amount: str) -> str:
        feels = ""
        for _ in range(round(_amount(amount or item, "", 1, 100))):
            feels = self._truck.fluid.pedal()
        return feels

    def _read(self, item: str, amount: str) -> str:
        truck, fluid = self._truck, self._truck.fluid
        simple: dict[str, Callable[[], str]] = {
            "feed-pressure": lambda: f"{fluid.feed_bar:.2f} bar",
            "level": lambda: f"{fluid.level_ml:.0f} mL",
            "voltage": lambda: f"{truck.around.voltage(truck.now_s):.1f} V",
            "speed": lambda: f"{truck.around.speed_kmh} km/h",
            "gear": lambda: truck.around.gear,
            "pedal": fluid.pedal,
            "nipples": lambda: " ".join(fluid.lines),
            "boiling-point": lambda: f"{fluid.boiling_point_c():.0f} degC",
            "tester": lambda: _hexed(truck.other_tester.answers) or "no answer",
            "waste": lambda: f"{fluid.drawn_off_ml + fluid.emptied_ml:.0f} mL",
        }
        if item in simple:
            return simple[item]()
        what, _, nipple = item.partition(" ")
        if what not in ("volume", "torque", "outflow"):
            _refuse(f"{item!r} cannot be read", "read", f"one of: {', '.join(simple)}, volume, torque, outflow")
        return self._read_nipple(what, self._nipple(nipple or amount))

    def _read_nipple(self, what: str, nipple: str) -> str:
        line = self._truck.fluid.lines[nipple]
        if what == "volume":
            return f"{line.collected_ml:.0f} mL"
        if what == "torque":
            closed = [one.torque for one in self._truck.openings if one.nipple == nipple and one.torque]
            return closed[-1] if closed else "8 N.m"
        if line.air_ml > 0.02 * line.volume_ml:
            return "bubbles"
        return "dark" if line.old_ml > 0.5 * line.volume_ml else "clear"

    def _fault(self, item: str, amount: str) -> str:
        self._truck.plan_fault(parse_fault(item))
        return "ok"

    def _software(self, item: str, amount: str) -> str:
        number = item or SOFTWARE
        if amount or not _SOFTWARE.fullmatch(number):
            _refuse(f"{item!r} is not a software number", "software", "up to 20 letters, digits and dots: 03.21.0")
        self._truck.unit.identification = with_software(number)
        return number

    def _tester(self, item: str, amount: str) -> str:
        try:
            payload = bytes.fromhex(item)
        except ValueError:
            payload = b""
        if not 1 <= len(payload) <= MOST_BYTES:
            _refuse(f"{item!r} is not a request of 1 to {MOST_BYTES} bytes", "tester", "write it in hex, like 3E80")
        if amount not in ("", KEEP):
            _refuse(f"{amount!r} is nothing it can do besides", "tester", f"write {KEEP}, or nothing")
        truck = self._truck
        if not truck.other_tester.ask(payload, truck.now_s, keep=amount == KEEP):
            return NOBODY
        truck.advance(truck.now_s)
        answers = truck.other_tester.answers
        return f"answered {_hexed(answers)}" if answers else "ok"

    def _elsewhere(self, item: str, amount: str) -> str:
        truck = self._truck
        if item == "stop":
            if not truck.other_tester.stop(truck.now_s):
                _refuse("nothing runs there", "elsewhere", "start it first: elsewhere pump-rear '10 s'")
            return "ok"
        command = next((one for one in WIRE_COMMANDS if one.id == item), None)
        if command is None:
            known = ", ".join(one.id for one in WIRE_COMMANDS)
            _refuse(f"{item!r} is not a wire command", "elsewhere", f"one of: {known}, or stop")
        seconds = _amount(amount, "s", 10, 255)
        if not seconds:
            _refuse("no seconds are not a time to run", "elsewhere", "write how long, like '10 s'")
        return ASKED if truck.other_tester.run(*command.requests(round(seconds)), seconds, truck.now_s) else NOBODY

    def _nipple(self, name: str) -> str:
        if name not in self._truck.fluid.lines:
            _refuse(f"{name!r} is not a nipple", "nipple", f"one of: {', '.join(self._truck.fluid.lines)}")
        return name

    def _remark(self, text: str) -> None:
        self._truck.remarks.append((self._truck.now_s, text))


def _hexed(answers: list[bytes]) -> str:
    return " ".join(one.hex().upper() for one in answers)


def _amount(text: str, unit: str, usual: float, most: float) -> float:
    """Read `2.0 bar`, `2.0` or nothing (then `usual`)."""
    if not text:
        return usual
    number, _, written = text.strip().partition(" ")
    try:
        value = float(Decimal(number))
    except InvalidOperation:
        value = -1.0
    if written.strip() not in ("", unit) or not 0 <= value <= most:
        _refuse(f"{text!r} is not an amount in {unit or 'strokes'} up to {most:g}", "amount", "write a number and unit")
    return value


def _switch(item: str) -> bool:
    if item not in ("", "on", "off"):
        _refuse(f"{item!r} is neither on nor off", "item", "write on or off")
    return item != "off"


def _refuse(what: str, place: str, hint: str) -> NoReturn:
    raise InputError(what, place=place, hint=hint)
