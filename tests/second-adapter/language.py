# SPDX-License-Identifier: Apache-2.0
"""Program messages taken apart: docs/adapter.md, "Grammar"."""

import re
from dataclasses import dataclass, field

SYNTAX = -102

HEADER = re.compile(r"(\*[A-Za-z]+|:?[A-Za-z][A-Za-z0-9_]*(?::[A-Za-z][A-Za-z0-9_]*)*)(\?)?")
NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
B = r"[ \t]*"
POINT = rf"{B}(\d{{1,9}}){B}!{B}(\d{{1,9}}){B}"
ENTRY = re.compile(f"{POINT}(?::{POINT})?")
BLANK = " \t"


@dataclass
class Unit:
    words: list = field(default_factory=list)  # capitals; a common command is one word with its *
    rooted: bool = False
    query: bool = False
    arguments: list = field(default_factory=list)  # float, str, or a list of blocks of four numbers
    error: int = 0

    @property
    def common(self):
        return self.words[:1] != [] and self.words[0].startswith("*")


def crc16(text):
    """CRC-16/CCITT-FALSE."""
    crc = 0xFFFF
    for byte in text.encode("ascii"):
        crc ^= byte << 8
        for _ in range(8):
            crc = (crc << 1) ^ 0x1021 if crc & 0x8000 else crc << 1
            crc &= 0xFFFF
    return crc


def split_outside_strings(text, separator):
    pieces, quoted, depth = [""], False, 0
    for c in text:
        if c == '"':
            quoted = not quoted
        elif not quoted:
            depth += {"(": 1, ")": -1}.get(c, 0)
        if c == separator and not quoted and (depth <= 0 or separator == ";"):
            pieces.append("")
            depth = 0
        else:
            pieces[-1] += c
    return pieces


def parse_list(text):
    entries = []
    for piece in text[2:-1].split(","):
        match = ENTRY.fullmatch(piece)
        if not match:
            return None
        row, channel, last_row, last_channel = match.groups()
        entries.append((int(row), int(channel), int(last_row or row), int(last_channel or channel)))
    return entries


def parse_argument(text):
    """A value, or None where the grammar has no such thing."""
    if NUMBER.fullmatch(text):
        return float(text)
    if text.startswith("(@") and text.endswith(")"):
        return parse_list(text)
    if len(text) >= 2 and text[0] == '"' and text[-1] == '"' and '"' not in text[1:-1].replace('""', ""):
        return text[1:-1].replace('""', '"')
    return None


def parse_unit(text):
    unit = Unit()
    text = text.strip(BLANK)
    header = HEADER.match(text)
    if not header:
        unit.error = SYNTAX
        return unit
    name = header[1].upper()
    unit.rooted = name.startswith(":")
    unit.words = name.lstrip(":").split(":")
    unit.query = header[2] is not None
    rest = text[header.end() :]
    if not rest:
        return unit
    if rest[0] not in BLANK or not (rest.isascii() and rest.replace("\t", " ").isprintable()):
        unit.error = SYNTAX
        return unit
    for piece in split_outside_strings(rest, ","):
        argument = parse_argument(piece.strip(BLANK))
        if argument is None:
            unit.error = SYNTAX
        unit.arguments.append(argument)
    return unit


def parse_message(text):
    """The units of one message, LF taken off. A message of blanks has none."""
    if not text.strip(BLANK):
        return []
    return [parse_unit(piece) for piece in split_outside_strings(text, ";")]


def matches(pattern, word):
    """Whether `word` (capitals) is the long or the short form of a keyword written SYSTem."""
    short = "".join(c for c in pattern if not c.islower())
    return word in (short, pattern.upper())
