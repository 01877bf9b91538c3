#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Puts the same random messages to an adapter and to this one, and shows where they differ.

    compare.py TCP-ADDRESS BENCH SEED COUNT

The adapter at the address must have the bench's board under its probes. Both were made from
docs/adapter.md by different people; what they understand differently, the page does not say clearly
enough. Errors are compared by number, readings within the meters' differences.
"""

import random
import re
import socket
import sys

from device import Device
from language import split_outside_strings
from network import read_bench

HEADERS = """
*IDN *RST *CLS *ESR *ESE *SRE *STB *OPC *WAI *FOO *B1 SYSTem:ERRor:NEXT SYST:ERR SYST:VERS SYST:TAG ROUT:CLOS
ROUTe:CLOSe:STATe ROUT:OPEN ROUT:OPEN:ALL ROUT:REF SOUR:CURR SOUR:CURR:LEV SOUR:VOLT SOURCE:VOLTAGE:LEVEL MEAS:RES
MEAS:FRES MEAS:ISOL MEAS:CONT MEAS:VOLT MEAS:LUCK CLOS OPEN TAG LEV RES STAT CURR VOLT ERR SYST MEAS
""".split()
NUMBERS = """
1 5 0 -1 1.5 1.6E1 +3 .5e-1 7. 1E7 1E-3 255 256 2147483647 2147483648 1e999 1E --1 0.05 10 1e-400
""".split()
ODD_LISTS = ["(@)", "(@1)", "(1!1)", "(@1!1", "(@1!1,)", "( @1!1)"]
ODD_ARGUMENTS = ['"a"', '"a;b"', '"a""b"', '"', "x", "'a'", ""]
ODD_CHARACTERS = ' ;:,()@!?*"AZ9.E\x07'
READING = re.compile(r"(\d+),(\(@.*?\)),([^,]+),(\d+),#H[0-9A-F]{4}")
MARK = "*OPC?;:SYST:VERS?"  # answered in every state


class Speaker:
    """Makes messages: most by the grammar, some not."""

    def __init__(self, seed):
        self.random = random.Random(seed)

    def sometimes(self, chance):
        return self.random.random() < chance

    def crosspoint(self):
        row = self.random.randint(0, 5) if self.sometimes(0.05) else self.random.randint(1, 4)
        channel = self.random.randint(0, 9) if self.sometimes(0.05) else self.random.randint(1, 8)
        return self.random.choice(["{}!{}", "{}!{}", "{} !{}", "{}! {}", "0{}!{}"]).format(row, channel)

    def list(self):
        if self.sometimes(0.1):
            return self.random.choice(ODD_LISTS)
        entries = [
            self.crosspoint() + (":" + self.crosspoint() if self.sometimes(0.3) else "")
            for _ in range(self.random.randint(1, 4))
        ]
        return "(@" + self.random.choice([",", " , "]).join(entries) + ")"

    def argument(self):
        chance = self.random.random()
        if chance < 0.1:
            return self.random.choice(ODD_ARGUMENTS)
        return self.list() if chance < 0.5 else self.random.choice(NUMBERS)

    def unit(self):
        header = self.random.choice(HEADERS)
        if not header.startswith("*") and self.sometimes(0.8):
            header = ":" + header
        if self.sometimes(0.2):
            header = header.lower()
        if header.endswith(("CLOS", "OPEN")) and self.sometimes(0.5):
            return f"{header} {self.list()}"
        if header.endswith("TAG") and self.sometimes(0.7):
            return f"{header} {self.random.randint(1, 50)}"
        query = "?" if self.sometimes(0.5) else ""
        arguments = [self.argument() for _ in range(self.random.choice([0, 0, 1, 1, 1, 2]))]
        if not arguments:
            return header + query
        blank = self.random.choice([" ", "  ", "\t"])
        return header + query + blank + self.random.choice([",", " , "]).join(arguments)

    def message(self):
        text = ";".join(self.unit() for _ in range(self.random.randint(1, 4)))
        if self.sometimes(0.3):
            at = self.random.randrange(len(text))
            text = text[:at] + self.random.choice(ODD_CHARACTERS) + text[at + self.random.randint(0, 1) :]
        return text


def plain(response):
    """The answers, without what is an adapter's own."""
    answers = []
    for answer in split_outside_strings(response, ";") if response is not None else []:
        if reading := READING.fullmatch(answer):
            tag, closed, value, status = reading.groups()
            answers.append((tag, closed, status, float(value)))
        elif re.match(r'-?\d+,"', answer):
            answers.append(answer.split(",")[0])
        else:
            answers.append("identity" if answer.count(",") == 3 and "(@" not in answer else answer)
    return answers


def alike(a, b):
    if not (isinstance(a, tuple) and isinstance(b, tuple)):
        return a == b
    # A short against a high threshold may read some tens of ohms.
    return a[:3] == b[:3] and abs(a[3] - b[3]) <= 0.02 * abs(a[3]) + (30 if abs(a[3]) < 1e6 else 0)


class Other:
    def __init__(self, address):
        host, port = address.removeprefix("tcp:").rsplit(":", 1)
        self.socket = socket.create_connection((host, int(port)), timeout=30)
        self.lines = self.socket.makefile("r", encoding="latin-1", newline="\n")

    def run(self, message):
        """The response, or None; what is one too many is an answer of its own."""
        self.socket.sendall(f"{message}\n{MARK}\n".encode("latin-1"))
        got = []
        while (line := self.lines.readline().rstrip("\n")) != "1;1999.0":
            got.append(line)
        return ";".join(got) if got else None


def main():
    address, bench, seed, count = sys.argv[1:]
    speaker, other, own = Speaker(int(seed)), Other(address), Device(read_bench(bench))
    start = "*RST;*CLS;*ESE 0;*SRE 0"
    state = ":SYST:ERR?" + ";ERR?" * 19 + ";*ESR?;*ESE?;:ROUT:CLOS:STAT?;:SOUR:CURR?;VOLT?"
    different = 0
    for _ in range(int(count)):
        message = speaker.message()
        for adapter in (other, own):
            adapter.run(start)
        answers = [adapter.run(message) for adapter in (other, own)]
        states = [adapter.run(state) for adapter in (other, own)]
        pairs = list(map(plain, answers)), list(map(plain, states))
        if not all(len(a) == len(b) and all(map(alike, a, b)) for a, b in pairs):
            different += 1
            print(f"{message!r}\n  other {answers[0]} {states[0]}\n  own   {answers[1]} {states[1]}")
    print(f"{count} messages, {different} understood differently")
    return 1 if different else 0


if __name__ == "__main__":
    sys.exit(main())
