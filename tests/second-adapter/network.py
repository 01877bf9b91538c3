# SPDX-License-Identifier: Apache-2.0
"""A bench file: what lies under the probes, and what the adapter is made of.

One statement a line; # begins a comment; words are parted by blanks.

    channels N                  how many channels the adapter has (default 16)
    wires 2|4                   (default 4)
    source A                    largest current (default 0.1)
    voltage V                   largest test voltage (default 10)
    contact-check yes|no        (default yes)
    buffer BYTES                input buffer (default 2048)
    reference OHM               one more reference (none by default)
    simulated yes|no            say SIMULATED 1 and take SIMulate commands (default no)
    point NAME NODE             a place a tip can touch, and the node of the network it is
    resistor NODE NODE OHM
    battery NODE NODE VOLT OHM  a voltage of the board's own, plus first, and its inner resistance
    placement NAME              the lines after it say where the channels lie in this placement
    channel N POINT             channel N touches POINT; a channel without a line touches nothing

Nodes need no line of their own. Unless the bench is simulated, its first placement lies already.
"""

from dataclasses import dataclass, field


class BenchError(Exception):
    """What is wrong with a bench file, and in which line."""


@dataclass
class Bench:
    channels: int = 16
    wires: int = 4
    source: float = 0.1
    voltage: float = 10.0
    contact_check: bool = True
    buffer: int = 2048
    simulated: bool = False
    references: list = field(default_factory=list)
    points: dict = field(default_factory=dict)
    resistors: list = field(default_factory=list)
    battery: tuple = None
    placements: dict = field(default_factory=dict)


def yes_or_no(word):
    return {"yes": True, "no": False}[word]


# How each one-word setting is read.
SETTINGS = {
    "channels": int,
    "wires": int,
    "source": float,
    "voltage": float,
    "buffer": int,
    "contact-check": yes_or_no,
    "simulated": yes_or_no,
}


def read_statement(bench, words):
    name, rest = words[0], words[1:]
    if name in SETTINGS:
        (word,) = rest
        setattr(bench, name.replace("-", "_"), SETTINGS[name](word))
    elif name == "reference":
        (ohm,) = rest
        bench.references.append(float(ohm))
    elif name == "point":
        point, node = rest
        bench.points[point] = node
    elif name == "resistor":
        a, b, ohm = rest
        bench.resistors.append((a, b, float(ohm)))
    elif name == "battery":
        plus, minus, volt, ohm = rest
        bench.battery = (plus, minus, float(volt), float(ohm))
    elif name == "placement":
        (placement,) = rest
        bench.placements[placement] = {}
    elif name == "channel":
        channel, point = rest
        if not bench.placements:
            raise ValueError("a channel before the first placement")
        laid = list(bench.placements.values())[-1]
        if not 1 <= int(channel) <= bench.channels:
            raise ValueError("no such channel")
        laid[int(channel)] = bench.points[point]
    else:
        raise ValueError("no such statement")


def read_bench(path):
    bench = Bench()
    with open(path, encoding="utf-8") as lines:
        for number, line in enumerate(lines, 1):
            words = line.split("#")[0].split()
            if not words:
                continue
            try:
                read_statement(bench, words)
            except (ValueError, KeyError) as error:
                raise BenchError(f"{path}:{number}: {' '.join(words)}: {error}") from error
    return bench


class Circuit:
    """Conductances between named nodes, and the currents that flow into nodes."""

    def __init__(self):
        self.edges = {}
        self.currents = {}

    def resistor(self, a, b, ohm):
        if a != b:
            self.conductance(a, b, 1.0 / ohm)

    def conductance(self, a, b, siemens):
        for x, y in ((a, b), (b, a)):
            near = self.edges.setdefault(x, {})
            near[y] = near.get(y, 0.0) + siemens

    def current(self, into, out_of, ampere):
        self.currents[into] = self.currents.get(into, 0.0) + ampere
        self.currents[out_of] = self.currents.get(out_of, 0.0) - ampere

    def voltages(self, ground):
        """Volts of every node against `ground`; None where a current has no way home.

        Node after node is replaced by the mesh its star amounts to. Nothing is ever subtracted, so
        that a milliohm beside a teraohm costs no digits. What hangs on nothing lies at 0 V.
        """
        edges = {node: dict(near) for node, near in self.edges.items()}
        currents = dict(self.currents)
        order = []
        while left := [node for node in edges if node != ground]:
            node = min(left, key=lambda n: len(edges[n]))
            star = edges.pop(node)
            total = sum(star.values())
            if total == 0.0 and abs(currents.get(node, 0.0)) > 0.0:
                return None
            order.append((node, star, total))
            near = list(star.items())
            for i, (a, ga) in enumerate(near):
                del edges[a][node]
                currents[a] = currents.get(a, 0.0) + currents.get(node, 0.0) * ga / total
                for b, gb in near[:i]:
                    both = ga * gb / total
                    edges[a][b] = edges[a].get(b, 0.0) + both
                    edges[b][a] = edges[b].get(a, 0.0) + both
        volts = {ground: 0.0}
        for node, star, total in reversed(order):
            into = currents.get(node, 0.0) + sum(g * volts[n] for n, g in star.items())
            volts[node] = into / total if total > 0.0 else 0.0
        return volts
