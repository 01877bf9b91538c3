# SPDX-License-Identifier: Apache-2.0
"""Source, switches and meter on a bench's resistors: what each measurement gives.

Rows are nodes 1 to 4, a tip's wire is ("tip", channel), the board's nodes are ("board", name).
"""

import random

from network import Circuit

OVER_RANGE, NOT_SETTLED, NO_DRIVE, UNSTEADY, OWN_VOLTAGE, REFUSED = 1, 2, 4, 8, 16, 32
INFINITE, NOT_A_NUMBER = 9.9e37, 9.91e37

SWITCH_OHM = 6.0
CONTACT_OHM = 0.04
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

    def lay(self, placement):
        """Puts the tips down: channel k touches node tips[k]."""
        self.tips = self.bench.placements[placement]

    def circuit(self, closed, reference):
        """Board, tips, switches, reference: everything but source and meter."""
        c = Circuit()
        leak = LEAKAGE / self.bench.voltage
        for row in range(1, self.bench.wires + 1):
            for channel in range(1, self.bench.channels + 1):
                siemens = 1.0 / SWITCH_OHM if (row, channel) in closed else leak
                c.conductance(row, ("tip", channel), siemens)
        for channel, node in self.tips.items():
            c.resistor(("tip", channel), ("board", node), CONTACT_OHM)
        for a, b, ohm in self.bench.resistors:
            c.resistor(("board", a), ("board", b), ohm)
        if self.bench.battery:
            plus, minus, _, ohm = self.bench.battery
            c.resistor(("board", plus), ("board", minus), ohm)
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
        volts = self.driven(closed, reference, 0.0)
        return volts[1]

    def voltage(self, closed, reference):
        value = self.reading(self.own_voltage(closed, reference))
        return value, OWN_VOLTAGE if abs(value) > VOLTAGE_OF_ITS_OWN else 0

    def resistance(self, closed, reference, ampere, sense):
        """Ohms between the two rows `sense`, the current driven both ways."""
        halves = []
        own = 0
        if abs(self.own_voltage(closed, reference)) > VOLTAGE_OF_ITS_OWN:
            own = OWN_VOLTAGE
        for sign in (1.0, -1.0):
            volts = self.driven(closed, reference, sign * ampere)
            if volts is None or abs(volts[1]) > self.bench.voltage:
                return INFINITE, OVER_RANGE + NO_DRIVE + own
            halves.append(self.reading(volts[sense[0]] - volts[sense[1]]))
        return (halves[0] - halves[1]) / (2 * ampere), own

    def isolation(self, closed, reference, volt):
        own = abs(self.own_voltage(closed, reference)) > VOLTAGE_OF_ITS_OWN
        c = self.circuit(closed, reference)
        c.current(1, 2, 1.0)
        volts = c.voltages(2)
        if volts is None or volts[1] > LARGEST_OHM:
            return INFINITE, OVER_RANGE + (OWN_VOLTAGE if own else 0)
        ohm = volts[1] * (1.0 + self.random.gauss(0.0, NOISE / volt))
        return ohm, OWN_VOLTAGE if own else 0

    def contact(self, crosspoint):
        return (1.0 if crosspoint[1] in self.tips else 0.0), 0
