"""The serial adapter of the practice truck, an invention of this project: characters in, characters out, sans-IO.

Commands are lines of words, ended by a line feed; each is answered by one line and the prompt `your turn: `. What is
heard on the bus comes as a line of its own at any time. SUM is the low byte of the sum of all characters before ` SUM`.

    GREET                                   DEPOT BRIDGE FOURTEEN, LAYOUT ONE
    FORGET                                  FORGOTTEN          hears nothing, carries frames, as after power-up
    HEAR ALL | HEAR NOTHING | HEAR 6BB      HEARING ...
    ONLY HEAR                               ONLY HEARING       carries nothing until FORGET
    WHOLE 6B3 6BB                           WHOLE MESSAGES     does ISO 15765-2 itself for this pair
    CARRY 6B3 LONG 8 BODY 02.. SUM 5A       CARRIED            a frame, or a whole message after WHOLE
                                            HEARD 6BB LONG 8 BODY 06.. AT 1234567 SUM 8F      AT: microseconds
                                            BEGINS 6BB         the first part of a long message was seen

Instead of its answer a command may get: NOT A COMMAND OF MINE, LONG DOES NOT FIT, SUM DOES NOT FIT, STILL CARRYING,
MAY ONLY HEAR, NOBODY TOOK IT (no acknowledgement on the bus). By itself it may say CARRYING BROKE OFF, and
MISSED 12 FRAMES when nobody took its characters.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from witnessmark.errors import LocalError
from witnessmark.wire.isotp import Address, Endpoint, Failed, FirstFrameSeen, Received
from witnessmark_practice.bus import Bus, BusFrame
from witnessmark_practice.node import patient

PROMPT = "your turn: "
LONGEST_COMMAND = 9000
_CARRY = re.compile(r"CARRY ([0-9A-F]{3}|[0-9A-F]{8}) LONG (\d{1,4}) BODY ((?:[0-9A-F]{2})*) SUM ([0-9A-F]{2})\Z")


class SerialAdapter:
    """One adapter on a bus. `out` collects what it says; `room` tells whether its characters are being taken.

    Faults: `garble` spoils that many of the lines that come next, `swallow_prompt` leaves out that many prompts.
    """

    def __init__(self, bus: Bus, room: Callable[[], bool], rate: int = 1) -> None:
        self._bus = bus
        self._rate = rate
        self._room = room
        self.out = bytearray()
        self.garble = 0
        self.swallow_prompt = 0
        self.power_up()

    def power_up(self) -> None:
        """Forget everything, as with a fresh supply."""
        self._line = bytearray()
        self._missed = 0
        self.out.clear()
        self._forget()

    def take(self, characters: bytes, now_s: float) -> None:
        """Take characters from the host and answer each whole line."""
        for byte in characters:
            if byte == 0x0A:
                line, self._line = self._line.decode("ascii", "replace").rstrip("\r"), bytearray()
                if line:
                    self._say(self._obey(line, now_s))
                    self._prompt()
            elif len(self._line) < LONGEST_COMMAND:
                self._line.append(byte)

    def hear(self, frame: BusFrame) -> None:
        """Tell the host of a frame if it asked for it; feed the message under way."""
        if self._whole is not None:
            if frame.can_id == self._whole.address.rx_id and frame.extended == self._whole.address.extended_id:
                self._tell(self._whole, frame)
        elif self._hears is True or self._hears == (frame.can_id, frame.extended):
            self._say_heard(frame.can_id, frame.extended, frame.data, frame.at_s)

    def advance(self, now_s: float) -> None:
        """Send what a message under way may send, and notice when it broke off."""
        if self._whole is None:
            return
        now_ns = round(now_s * 1e9)
        if any(isinstance(told, Failed) for told in self._whole.tick(now_ns)):
            self._say("CARRYING BROKE OFF")
        for data in self._whole.outgoing(now_ns):
            address = self._whole.address
            if not self._bus.put(self, BusFrame(address.tx_id, data, address.extended_id, now_s)):
                self._whole.reset(now_ns)
                self._say("NOBODY TOOK IT")

    def due_s(self) -> float | None:
        """Return when something happens by itself, None while nothing will."""
        deadline_ns = None if self._whole is None else self._whole.deadline_ns()
        return None if deadline_ns is None else deadline_ns / 1e9

    def _forget(self) -> None:
        self._hears: bool | tuple[int, bool] = False
        self._may_carry = True
        self._whole: Endpoint | None = None

    def _obey(self, line: str, now_s: float) -> str:
        match line.split(" "):
            case ["GREET"]:
                return "DEPOT BRIDGE FOURTEEN, LAYOUT ONE"
            case ["FORGET"]:
                self._forget()
                return "FORGOTTEN"
            case ["ONLY", "HEAR"]:
                self._may_carry = False
                return "ONLY HEARING"
            case ["HEAR", what] if what in ("ALL", "NOTHING") or _is_id(what):
                self._hears = what == "ALL" if what in ("ALL", "NOTHING") else (int(what, 16), len(what) == 8)
                return f"HEARING {what}"
            case ["WHOLE", request, answer] if _is_id(request) and _is_id(answer) and len(request) == len(answer):
                address = Address(int(request, 16), int(answer, 16), len(request) == 8)
                self._whole = Endpoint(address, patient(self._rate, padding=0x55))
                return "WHOLE MESSAGES"
            case ["CARRY", *_]:
                return self._carry(line, now_s)
        return "NOT A COMMAND OF MINE"

    def _carry(self, line: str, now_s: float) -> str:
        found = _CARRY.match(line)
        if found is None:
            return "NOT A COMMAND OF MINE"
        can_id, extended, body = int(found[1], 16), len(found[1]) == 8, bytes.fromhex(found[3])
        if len(body) != int(found[2]) or (self._whole is None and len(body) > 8):
            return "LONG DOES NOT FIT"
        if _sum(line[: found.start(4) - len(" SUM ")]) != int(found[4], 16):
            return "SUM DOES NOT FIT"
        if not self._may_carry:
            return "MAY ONLY HEAR"
        if self._whole is not None and can_id == self._whole.address.tx_id:
            if self._whole.sending:
                return "STILL CARRYING"
            try:
                self._whole.send(body, round(now_s * 1e9))
            except LocalError:
                return "LONG DOES NOT FIT"
            return "CARRIED"
        if self._whole is not None:  # another target: functional, one single frame
            if not 1 <= len(body) <= 7:
                return "LONG DOES NOT FIT"
            body = bytes((len(body),)) + body
            body = body.ljust(8, b"\x55")
        return "CARRIED" if self._bus.put(self, BusFrame(can_id, body, extended, now_s)) else "NOBODY TOOK IT"

    def _tell(self, whole: Endpoint, frame: BusFrame) -> None:
        for told in whole.receive(frame.data, round(frame.at_s * 1e9)):
            if isinstance(told, Received):
                self._say_heard(frame.can_id, frame.extended, told.payload, frame.at_s)
            elif isinstance(told, FirstFrameSeen):
                self._say(f"BEGINS {_write_id(frame.can_id, frame.extended)}")
            elif isinstance(told, Failed):
                self._say("CARRYING BROKE OFF")

    def _say_heard(self, can_id: int, extended: bool, body: bytes, at_s: float) -> None:
        if not self._room():
            self._missed += 1
            return
        if self._missed:
            self._say(f"MISSED {self._missed} FRAMES")
            self._missed = 0
        text = f"HEARD {_write_id(can_id, extended)} LONG {len(body)} BODY {body.hex().upper()} AT {round(at_s * 1e6)}"
        self._say(f"{text} SUM {_sum(text):02X}")

    def _say(self, text: str) -> None:
        line = text.encode("ascii")
        if self.garble and text.startswith("HEARD"):
            self.garble -= 1
            line = line[:9] + b"\xf8\x07" + line[12:-6]
        self.out += line + b"\n"

    def _prompt(self) -> None:
        if self.swallow_prompt:
            self.swallow_prompt -= 1
        else:
            self.out += PROMPT.encode("ascii")


def _sum(text: str) -> int:
    return sum(text.encode("ascii")) & 0xFF


def _is_id(text: str) -> bool:
    return re.fullmatch(r"[0-9A-F]{3}|[0-9A-F]{8}", text) is not None


def _write_id(can_id: int, extended: bool) -> str:
    return f"{can_id:08X}" if extended else f"{can_id:03X}"
