# SPDX-License-Identifier: Apache-2.0
"""Source, switches and meter on a bench's resistors: what each measurement gives.

Rows are nodes 1 to 4, a tip's wire is ("tip", channel), the board's nodes are ("board", name).
"""

import random

from network import Circuit

OVER_RANGE, NO_DRIVE, OWN_VOLTAGE, REFUSED = 1, 4, 16, 32
INFINITE, NOT_A_NUMBER = 9.9e37, 9.91e37

LEAKAGE = 2e-10  # A through an open switch at the full voltage
METER_OHM = 1e7  # between the sense rows
OFFSET = 8e-5  # V, of the meter, the same in both directions
NOISE = 1.5e-5  # V
LARGEST_OHM = 1e9
VOLTAGE_OF_ITS_OWN = 5e-3  # V


class Meter:
    def __init__(self, bench, seed=1):
        self.bench = bench
        self.random = random.Random(seed)
        self.tips = {}
        self.board = {}

    def lay(self, placement):
        """Puts the tips down: channel k touches node tips[k]."""
        self.tips = self.bench.placements[placement]
        board = Circuit()
        for node in self.bench.points.values():
            board.edges.setdefault(("board", node), {})
        for a, b, ohm in self.bench.resistors:
            board.resistor(("board", a), ("board", b), ohm)
        if self.bench.battery:
            plus, minus, _, ohm = self.bench.battery
            board.resistor(("board", plus), ("board", minus), ohm)
        touched = set(self.tips.values()) | set((self.bench.battery or ())[:2])
        self.board = board.reduced({("board", node) for node in touched})

    def circuit(self, closed, reference):
        """Board, tips, switches, reference: everything but source and meter."""
        c = Circuit(self.board)
        leak = LEAKAGE / self.bench.voltage
        for row in range(1, self.bench.wires + 1):
            for channel in range(1, self.bench.channels + 1):
                siemens = 1.0 / self.bench.switch if (row, channel) in closed else leak
                c.conductance(row, ("tip", channel), siemens)
        for channel, node in self.tips.items():
            c.resistor(("tip", channel), ("board", node), self.bench.contact)
        if reference:
            ohm = self.bench.references[reference - 1]
            c.resistor(1, 2, ohm)
            if self.bench.wires == 4:  # its own sense leads
                c.resistor(1, 3, 1.0)
                c.resistor(2, 4, 1.0)
        return c

    def driven(self, closed, reference, ampere):
        """Volts of all nodes with the current going in at row 1 and home at row 2."""
        c = self.circuit(closed, reference)
        if self.bench.wires == 4:
            c.resistor(3, 4, METER_OHM)
        if self.bench.battery:
            plus, minus, volt, ohm = self.bench.battery
            c.current(("board", plus), ("board", minus), volt / ohm)
        if ampere:
            c.current(1, 2, ampere)
        return c.voltages(2)

    def reading(self, volt):
        return volt + OFFSET + self.random.gauss(0.0, NOISE)

    def own_voltage(self, closed, reference):
        """Volts between rows 1 and 2 with the source off, and the status they deserve."""
        volt = self.driven(closed, reference, 0.0)[1] if self.bench.battery else 0.0
        return volt, OWN_VOLTAGE if abs(volt) > VOLTAGE_OF_ITS_OWN else 0

    def voltage(self, closed, reference):
        volt, status = self.own_voltage(closed, reference)
        return self.reading(volt), status

    def resistance(self, closed, reference, ampere, sense):
        """Ohms between the two rows `sense`, the current driven both ways."""
        halves = []
        _, own = self.own_voltage(closed, reference)
        for sign in (1.0, -1.0):
            volts = self.driven(closed, reference, sign * ampere)
            if volts is None or abs(volts[1]) > self.bench.voltage:
                return INFINITE, OVER_RANGE + NO_DRIVE + own
            halves.append(self.reading(volts[sense[0]] - volts[sense[1]]))
        return (halves[0] - halves[1]) / (2 * ampere), own

    def isolation(self, closed, reference, volt):
        _, own = self.own_voltage(closed, reference)
        c = self.circuit(closed, reference)
        c.current(1, 2, 1.0)
        volts = c.voltages(2)
        if volts is None or volts[1] > LARGEST_OHM:
            return INFINITE, OVER_RANGE + own
        return volts[1] * (1.0 + self.random.gauss(0.0, NOISE / volt)), own

    def contact(self, crosspoint):
        return (1.0 if crosspoint[1] in self.tips else 0.0), 0
