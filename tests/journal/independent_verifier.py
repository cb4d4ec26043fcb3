"""A second verifier of evidence files, written from docs/journal-format.md alone. It shares no code with the first.

`python independent_verifier.py FILE [ANCHOR]` prints the verdict; ANCHOR is a file with a signed checkpoint, or
COUNT:HEAD.
"""

import base64
import hashlib
import json
import re
import sys

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey


class Verdict(Exception):
    pass


def need(condition, verdict):
    if not condition:
        raise Verdict(verdict)


def spell(value):
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()


def sha(*parts):
    return hashlib.sha256(b"".join(parts)).digest()


def unhex(text):
    need(re.fullmatch("[0-9a-f]{64}", text), "altered")
    return bytes.fromhex(text)


def leaf(entry):
    return sha(b"\x00", spell(entry))


def split(size):
    return 1 << ((size - 1).bit_length() - 1)


def root_by_inclusion(value, index, size, path):
    """Climb RFC 9162's PATH by its own recursive definition, from the top down."""
    if size == 1:
        need(not path, "altered")
        return value
    need(path, "altered")
    k, sibling, rest = split(size), unhex(path[-1]), path[:-1]
    if index < k:
        return sha(b"\x01", root_by_inclusion(value, index, k, rest), sibling)
    return sha(b"\x01", sibling, root_by_inclusion(value, index - k, size - k, rest))


def roots_by_consistency(first, size, path, whole, old):
    """Return both roots that RFC 9162's SUBPROOF(first, D[size], whole) leads to."""
    if first == size:
        need(len(path) == (0 if whole else 1), "altered")
        value = old if whole else unhex(path[0])
        return value, value
    need(path, "altered")
    k, sibling, rest = split(size), unhex(path[-1]), path[:-1]
    if first <= k:
        before, after = roots_by_consistency(first, k, rest, whole, old)
        return before, sha(b"\x01", after, sibling)
    before, after = roots_by_consistency(first - k, size - k, rest, False, old)
    return sha(b"\x01", sibling, before), sha(b"\x01", sibling, after)


def read_note(note):
    text, _, below = note.rpartition("\n\n")
    text += "\n"
    signatures = []
    for line in below.splitlines():
        dash, name, code = line.split(" ")
        need(dash == "\u2014", "altered")
        signatures.append((name, base64.b64decode(code)))
    return text, signatures


def read_checkpoint(note, job):
    origin, size, root, *more = read_note(note)[0].removesuffix("\n").split("\n")
    pins = [line.split(" ") for line in more if line.startswith(f"job {job} ")]
    pin = (int(pins[0][2]), base64.b64decode(pins[0][3]).hex()) if pins else None
    return origin, int(size), base64.b64decode(root), pin


def signed(note, keys):
    """True or False as the signature holds, None when none of the keys is named."""
    text, signatures = read_note(note)
    for key in keys:
        name, _, code = key.split("+", 2)
        raw = base64.b64decode(code)
        key_id = sha(name.encode(), b"\n", raw)[:4]
        for who, value in signatures:
            if who == name and value[:4] == key_id:
                try:
                    Ed25519PublicKey.from_public_bytes(raw[1:]).verify(value[4:], text.encode())
                    return True
                except InvalidSignature:
                    return False
    return None


def check_pin(leaves, pin):
    if pin:
        need(pin[0] <= len(leaves), "entries missing")
        need(leaves[pin[0] - 1].hex().startswith(pin[1]), "altered")


def check_entries(entries):
    need(entries, "incomplete")
    leaves = [leaf(entry) for entry in entries]
    numbers = {entry["job_seq"] for entry in entries}
    for n, entry in enumerate(entries):
        need(entry["job"] is not None and entry["job"] == entries[0]["job"], "altered")
        need(n == 0 or entry["seq"] > entries[n - 1]["seq"], "altered")
        need(n in numbers, "entries missing")
        need(entry["job_seq"] == n, "altered")
        need(entry["job_prev"] == (leaves[n - 1].hex() if n else None), "altered")
        need(re.fullmatch("[0-9a-f]{32}", entry["salt"]) and entry["format"] == 1, "altered")
    return leaves


def check_proof(entries, leaves, proof):
    job = entries[0]["job"]
    origin, size, root, pin = read_checkpoint(proof["checkpoint"], job)
    keys, genesis, last = [], None, -1
    for one in proof["journal"]:
        entry = one["entry"]
        need(root_by_inclusion(leaf(entry), entry["seq"], size, one["path"]) == root, "altered")
        need(entry["kind"] == ("key" if entry["seq"] else "genesis") and entry["job"] is None, "altered")
        need(entry["seq"] > last, "altered")
        last = entry["seq"]
        if entry["kind"] == "genesis":
            genesis = entry["body"]["origin"]
        else:
            key, vouched = entry["body"]["key"], entry["body"].get("vouched")
            if vouched and keys:
                need(read_note(vouched)[0] == f"witnessmark key\n{key}\n" and signed(vouched, keys[-1:]), "altered")
            keys = [*keys, key] if vouched else [key]
    need(genesis and keys, "incomplete")
    need(genesis == origin, "altered")
    need(signed(proof["checkpoint"], keys) is not None, "wrong key")
    need(signed(proof["checkpoint"], keys), "altered")
    need(len(proof["inclusion"]) == len(entries), "incomplete")
    for entry, value, path in zip(entries, leaves, proof["inclusion"], strict=True):
        need(entry["seq"] < size, "incomplete")
        need(root_by_inclusion(value, entry["seq"], size, path) == root, "altered")
    check_pin(leaves, pin)
    known = {size: root}
    for one in proof["consistency"]:
        from_origin, first, old, old_pin = read_checkpoint(one["checkpoint"], job)
        need(from_origin == origin and 0 < first <= size, "altered")
        need(signed(one["checkpoint"], keys) is not False, "altered")
        need(roots_by_consistency(first, size, one["path"], True, old) == (old, root), "altered")
        check_pin(leaves, old_pin)
        known[first] = old
    there = {proof["checkpoint"], *(one["checkpoint"] for one in proof["consistency"])}
    notes = [entry["body"].get("note") for entry in entries if entry["kind"] in ("checkpoint", "sheet")]
    need(there.issuperset(notes), "incomplete")
    return origin, keys, known


def check_notes(entries, leaves):
    """Hold a file without proof against the checkpoints in its entries; return whether there is none of them."""
    notes = [entry["body"]["note"] for entry in entries if entry["kind"] in ("checkpoint", "sheet")]
    for note in notes:
        check_pin(leaves, read_checkpoint(note, entries[0]["job"])[3])
    return not notes


def check_anchor(entries, leaves, proven, anchor):
    if re.fullmatch("[0-9]+:[0-9a-f]{16,64}", anchor):
        count, _, head = anchor.partition(":")
        check_pin(leaves, (int(count), head))
        return
    origin, size, root, pin = read_checkpoint(anchor, entries[0]["job"])
    need(proven or pin, "incomplete")
    if proven:
        need(signed(anchor, proven[1]) is not None, "wrong key")
        need(signed(anchor, proven[1]) and origin == proven[0], "altered")
        need(proven[2].get(size, root) == root, "altered")
        need(pin or size in proven[2], "incomplete")
        need(pin or entries[0]["seq"] < size, "incomplete")
    check_pin(leaves, pin)


def verify(data, anchor=None):
    """Return the verdict on the bytes of an evidence file."""
    try:
        data = data.removesuffix(b"\n")
        try:
            document = json.loads(data, parse_float=lambda number: need(False, "altered"))
        except ValueError:
            return "end damaged"
        need(document["format"] == 1 and set(document) == {"entries", "format", "proof"}, "altered")
        need(spell(document) == data, "altered")
        entries = document["entries"]
        leaves = check_entries(entries)
        proven = check_proof(entries, leaves, document["proof"]) if document["proof"] else None
        complete = proven or check_notes(entries, leaves)
        if anchor is None:
            return "consistent, unanchored" if complete else "incomplete"
        check_anchor(entries, leaves, proven, anchor)
        return "intact"
    except Verdict as verdict:
        return str(verdict)
    except (KeyError, TypeError, ValueError, AttributeError):
        return "altered"


if __name__ == "__main__":
    with open(sys.argv[1], "rb") as file:
        evidence = file.read()
    held = sys.argv[2] if len(sys.argv) > 2 else None
    if held and ":" not in held:
        with open(held, encoding="utf-8") as file:
            held = file.read()
    print(verify(evidence, held))
