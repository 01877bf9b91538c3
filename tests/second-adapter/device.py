# SPDX-License-Identifier: Apache-2.0
"""The commands of docs/adapter.md on a Meter: one message in, its response out."""

import sys

from language import crc16, matches, parse_message
from meter import LARGEST_OHM, LEAKAGE, NOISE, NOT_A_NUMBER, REFUSED, Meter

TEXTS = {
    0: "No error",
    -102: "Syntax error",
    -104: "Data type error",
    -108: "Parameter not allowed",
    -109: "Missing parameter",
    -113: "Undefined header",
    -221: "Settings conflict",
    -222: "Data out of range",
    -223: "Too much data",
    -350: "Queue overflow",
}
QUEUE = 16
SETTLE, CONVERT = 3e-4, 5e-4

# IEEE 488.2: the bits of the event register and of the status byte.
OPERATION_COMPLETE, DEVICE_ERROR, EXECUTION_ERROR, COMMAND_ERROR, POWER_ON = 1, 8, 16, 32, 128
ERROR_WAITS, ANSWER_WAITS, EVENT_SUMMARY, SERVICE_REQUEST = 4, 16, 32, 64


class Refusal(Exception):
    def __init__(self, number):
        super().__init__(number)
        self.number = number


def nr3(value):
    return f"{value:+.6E}"


def number(value, low, high, whole=False):
    """`value` if it is within low and high (and whole, if so asked)."""
    if not low <= value <= high or (whole and value != int(value)):
        raise Refusal(-222)
    return int(value) if whole else value


class Device:
    def __init__(self, bench):
        self.bench = bench
        self.meter = Meter(bench)
        self.errors = []
        self.events = POWER_ON
        self.event_mask = self.service_mask = 0
        if not bench.simulated:
            self.meter.lay(next(iter(bench.placements)))
        self.reset()

    def reset(self):
        self.tag = 0
        self.current = self.bench.source
        self.volt = min(5.0, self.bench.voltage)
        self.open_all()

    def open_all(self):
        self.closed = set()
        self.reference = 0

    # Errors -----------------------------------------------------------------------------------

    def error(self, error):
        self.events |= {1: COMMAND_ERROR, 2: EXECUTION_ERROR}.get(-error // 100, DEVICE_ERROR)
        if len(self.errors) < QUEUE:
            self.errors.append(error)
        else:
            self.errors[-1] = -350

    def message_too_long(self):
        self.error(-223)

    # Messages ---------------------------------------------------------------------------------

    def run(self, message):
        """The response, without its LF; None when there is nothing to say."""
        self.answers = []
        subtree = []
        for unit in parse_message(message):
            path = unit.words if unit.common or unit.rooted else subtree + unit.words
            command = self.find(path, unit.query)
            if command and not unit.common and not unit.error:
                subtree = path[:-1]
            answer = self.carry_out(unit, path, command)
            if answer is not None:
                self.answers.append(answer)
        return ";".join(self.answers) if self.answers else None

    def carry_out(self, unit, path, command):
        measures = unit.query and path != [] and matches("MEASure", path[0])
        try:
            if unit.error:
                raise Refusal(unit.error)
            if command is None:
                raise Refusal(-113)
            handler, kinds = command
            for argument, kind in zip(unit.arguments, kinds):
                if not isinstance(argument, kind):
                    raise Refusal(-104)
            if len(unit.arguments) != len(kinds):
                raise Refusal(-109 if len(unit.arguments) < len(kinds) else -108)
            answer = handler(self, *unit.arguments)
            return self.measured(*answer) if measures else answer
        except Refusal as refusal:
            self.error(refusal.number)
            return self.measured(NOT_A_NUMBER, REFUSED) if measures else None

    def find(self, path, query):
        for pattern, is_query, *command in COMMANDS:
            keywords = pattern.split(":")
            needed = [k for k in keywords if not k.startswith("[")]
            for form in (needed, [k.strip("[]") for k in keywords]):
                if is_query == query and len(form) == len(path):
                    if all(matches(k, w) for k, w in zip(form, path)):
                        return command
        return None

    def measured(self, value, status):
        body = f"{self.tag},{self.state()},{nr3(value)},{status},"
        return f"{body}#H{crc16(body):04X}"

    # Common commands --------------------------------------------------------------------------

    def identity(self):
        return "Breakwater Bench,Second,BB0007,1.0"

    def clear(self):
        self.errors = []
        self.events = 0

    def take_events(self):
        events, self.events = self.events, 0
        return str(events)

    def set_event_mask(self, mask):
        self.event_mask = number(mask, 0, 255, whole=True)

    def set_service_mask(self, mask):
        self.service_mask = number(mask, 0, 255, whole=True) & ~SERVICE_REQUEST

    def status(self):
        byte = ERROR_WAITS if self.errors else 0
        byte |= ANSWER_WAITS if self.answers else 0
        byte |= EVENT_SUMMARY if self.events & self.event_mask else 0
        byte |= SERVICE_REQUEST if byte & self.service_mask else 0
        return str(byte)

    def complete(self):
        self.events |= OPERATION_COMPLETE

    # System -----------------------------------------------------------------------------------

    def next_error(self):
        error = self.errors.pop(0) if self.errors else 0
        return f'{error},"{TEXTS[error]}"'

    def capability(self):
        bench = self.bench
        pairs = [("CONTRACT", 1), ("CHANNELS", bench.channels), ("WIRES", bench.wires)]
        if bench.contact_check:
            pairs.append(("CONTACT", 1))
        if bench.references:
            pairs.append(("REFERENCES", "|".join(f"{ohm:G}" for ohm in bench.references)))
        pairs += [("SOURCE", f"{bench.source:G}"), ("VOLTAGE", f"{bench.voltage:G}")]
        pairs += [("OHMS", f"{LARGEST_OHM:G}"), ("LEAKAGE", f"{LEAKAGE:G}"), ("NOISE", f"{NOISE:G}")]
        pairs += [("SETTLE", f"{SETTLE:G}"), ("CONVERT", f"{CONVERT:G}"), ("BUFFER", bench.buffer)]
        if bench.simulated:
            pairs.append(("SIMULATED", 1))
        return '"' + ";".join(f"{name} {value}" for name, value in pairs) + '"'

    def begin_step(self, tag):
        self.tag = number(tag, 1, 2147483647, whole=True)
        self.open_all()

    # Switches ---------------------------------------------------------------------------------

    def crosspoints(self, entries):
        points = set()
        for entry in entries:
            first_row, last_row = sorted(entry[0::2])
            first, last = sorted(entry[1::2])
            if first_row < 1 or last_row > self.bench.wires or first < 1 or last > self.bench.channels:
                raise Refusal(-222)
            for r in range(first_row, last_row + 1):
                points |= {(r, c) for c in range(first, last + 1)}
        return points

    def close(self, entries):
        self.closed |= self.crosspoints(entries)

    def open(self, entries):
        self.closed -= self.crosspoints(entries)

    def open_switches(self):
        self.closed = set()

    def state(self):
        return "(@" + ",".join(f"{r}!{c}" for r, c in sorted(self.closed)) + ")"

    def connect_reference(self, k):
        self.reference = number(k, 0, len(self.bench.references), whole=True)

    # Source -----------------------------------------------------------------------------------

    def set_current(self, level):
        self.current = self.level(level, self.bench.source)

    def set_volt(self, level):
        self.volt = self.level(level, self.bench.voltage)

    @staticmethod
    def level(level, largest):
        number(level, 0.0, largest)
        if level == 0.0:
            raise Refusal(-222)
        return level

    # Measurements: value and status -----------------------------------------------------------

    def on(self, row):
        return {channel for r, channel in self.closed if r == row}

    def apart(self):
        if self.on(1) & self.on(2):
            raise Refusal(-221)

    def two_wire(self):
        self.apart()
        return self.meter.resistance(self.closed, self.reference, self.current, (1, 2))

    def four_wire(self):
        if self.bench.wires != 4:
            raise Refusal(-221)
        if not self.reference and not all(self.on(row) for row in (1, 2, 3, 4)):
            raise Refusal(-221)
        self.apart()
        return self.meter.resistance(self.closed, self.reference, self.current, (3, 4))

    def isolation(self, ohm):
        self.level(ohm, sys.float_info.max)
        self.apart()
        return self.meter.isolation(self.closed, self.reference, self.volt)

    def contact(self):
        if not self.bench.contact_check:
            raise Refusal(-113)
        if len(self.closed) != 1 or next(iter(self.closed))[0] > 2:
            raise Refusal(-221)
        return self.meter.contact(next(iter(self.closed)))

    def voltage(self):
        self.apart()
        return self.meter.voltage(self.closed, self.reference)

    # Only in a simulator ----------------------------------------------------------------------

    def lay(self, name):
        if not self.bench.simulated:
            raise Refusal(-113)
        if name not in self.bench.placements:
            raise Refusal(-222)
        self.meter.lay(name)

    def hashes(self):
        if not self.bench.simulated:
            raise Refusal(-113)
        return '""'


# pattern, a query?, what does it, the kinds of its arguments
COMMANDS = [
    ("*IDN", True, Device.identity, []),
    ("*RST", False, Device.reset, []),
    ("*CLS", False, Device.clear, []),
    ("*ESR", True, Device.take_events, []),
    ("*ESE", False, Device.set_event_mask, [float]),
    ("*ESE", True, lambda d: str(d.event_mask), []),
    ("*SRE", False, Device.set_service_mask, [float]),
    ("*SRE", True, lambda d: str(d.service_mask), []),
    ("*STB", True, Device.status, []),
    ("*OPC", False, Device.complete, []),
    ("*OPC", True, lambda d: "1", []),
    ("*WAI", False, lambda d: None, []),
    ("*TST", True, lambda d: "0", []),
    ("SYSTem:ERRor:[NEXT]", True, Device.next_error, []),
    ("SYSTem:VERSion", True, lambda d: "1999.0", []),
    ("SYSTem:CAPability", True, Device.capability, []),
    ("SYSTem:TAG", False, Device.begin_step, [float]),
    ("ROUTe:CLOSe", False, Device.close, [list]),
    ("ROUTe:CLOSe:STATe", True, Device.state, []),
    ("ROUTe:OPEN", False, Device.open, [list]),
    ("ROUTe:OPEN:ALL", False, Device.open_switches, []),
    ("ROUTe:REFerence", False, Device.connect_reference, [float]),
    ("SOURce:CURRent:[LEVel]", False, Device.set_current, [float]),
    ("SOURce:CURRent:[LEVel]", True, lambda d: nr3(d.current), []),
    ("SOURce:VOLTage:[LEVel]", False, Device.set_volt, [float]),
    ("SOURce:VOLTage:[LEVel]", True, lambda d: nr3(d.volt), []),
    ("MEASure:RESistance", True, Device.two_wire, []),
    ("MEASure:FRESistance", True, Device.four_wire, []),
    ("MEASure:ISOLation", True, Device.isolation, [float]),
    ("MEASure:CONTact", True, Device.contact, []),
    ("MEASure:VOLTage", True, Device.voltage, []),
    ("SIMulate:PLACement", False, Device.lay, [str]),
    ("SIMulate:HASHes", True, Device.hashes, []),
    ("SIMulate:TIMe", True, lambda d: nr3(0.0), []),
]
