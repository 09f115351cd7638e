"""Runs the program in a window of so many columns (a pseudo-terminal), and gives back what stood in it.

Standard input: JSON, a list of {"line": [program, argument..], "columns": n, "set": {variable: value}, "typed": text or null}. `typed`
goes in by a pipe, so that nothing of it is echoed. Prints a list of texts.
"""

import fcntl
import json
import os
import pty
import struct
import subprocess
import sys
import termios

texts = []
for run in json.load(sys.stdin):
    master, slave = pty.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 40, run["columns"], 0, 0))
    surroundings = {"PATH": os.environ["PATH"], "TERM": "xterm", **run["set"]}
    started = subprocess.Popen(run["line"], stdin=subprocess.PIPE, stdout=slave, stderr=slave, env=surroundings)
    os.close(slave)
    typed = run.get("typed")
    started.stdin.write((typed or "").encode())
    started.stdin.close()
    seen = b""
    while True:
        try:
            more = os.read(master, 65536)
        except OSError:  # the other end is closed
            break
        if not more:
            break
        seen += more
    started.wait()
    os.close(master)
    texts.append(seen.decode().replace("\r\n", "\n"))
json.dump(texts, sys.stdout)
