#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A second adapter in software, written from docs/adapter.md alone.

    adapter.py BENCH --tcp PORT | --pty

Its first line of output is its address. It serves one client after another until SIGTERM or SIGINT.
The bench file is described in network.py.
"""

import argparse
import os
import select
import signal
import socket
import sys
import tty

from device import Device
from network import BenchError, read_bench


class Input:
    """Cuts what comes into messages no longer than the input buffer."""

    def __init__(self, limit):
        self.limit = limit
        self.bytes = b""
        self.lost = False

    def add(self, data):
        """Messages without LF; None for one that was too long."""
        self.bytes += data
        while (end := self.bytes.find(b"\n")) >= 0:
            line, self.bytes = self.bytes[:end], self.bytes[end + 1 :]
            lost, self.lost = self.lost or end >= self.limit, False
            yield None if lost else line.removesuffix(b"\r").decode("latin-1")
        if len(self.bytes) >= self.limit:
            self.bytes, self.lost = b"", True


def converse(device, limit, receive, send):
    """Until the client goes. Its switches do not outlive it."""
    cut = Input(limit)
    while data := receive():
        for message in cut.add(data):
            if message is None:
                device.message_too_long()
            elif (response := device.run(message)) is not None:
                send((response + "\n").encode("ascii"))
    device.reset()


def serve_tcp(device, limit, port):
    with socket.create_server(("127.0.0.1", port), backlog=1) as server:
        print(f"tcp:127.0.0.1:{server.getsockname()[1]}", flush=True)
        while True:
            client, _ = server.accept()
            with client:
                client.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
                try:
                    converse(device, limit, lambda: client.recv(4096), client.sendall)
                except ConnectionError:
                    device.reset()


def serve_pty(device, limit):
    main, other = os.openpty()
    tty.setraw(other)
    path = os.ttyname(other)
    os.close(other)
    print(f"pty:{path}", flush=True)
    hung_up = select.poll()
    hung_up.register(main, select.POLLIN)

    def receive():
        try:
            return os.read(main, 4096)
        except OSError:  # the last client closed it
            return b""

    def send(data):
        while data:
            data = data[os.write(main, data) :]

    while True:
        while hung_up.poll(50) and not hung_up.poll(0)[0][1] & select.POLLIN:
            signal.sigtimedwait([], 0.05)  # nobody there
        converse(device, limit, receive, send)


def main():
    parser = argparse.ArgumentParser(description="A second adapter, written from docs/adapter.md.")
    parser.add_argument("bench")
    link = parser.add_mutually_exclusive_group(required=True)
    link.add_argument("--tcp", type=int, metavar="PORT")
    link.add_argument("--pty", action="store_true")
    options = parser.parse_args()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: sys.exit(0))
    try:
        bench = read_bench(options.bench)
    except (OSError, BenchError) as error:
        print(error, file=sys.stderr)
        return 2
    device = Device(bench)
    if options.pty:
        serve_pty(device, bench.buffer)
    else:
        serve_tcp(device, bench.buffer, options.tcp)
    return 0


if __name__ == "__main__":
    sys.exit(main())
