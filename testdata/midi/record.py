#!/usr/bin/env python3
"""Records how late MIDI ticks arrive: one process sends them through a pipe at
absolute times, another stamps them. Prints a trace (README.md beside this file).

    record.py --bpm 120 --ticks 1200             an idle machine
    record.py --bpm 120 --ticks 1200 --busy 4    with four processes that compute
"""
import argparse, os, time

a = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
a.add_argument("--bpm", type=float, default=120)
a.add_argument("--ticks", type=int, default=1200)
a.add_argument("--busy", type=int, default=0)
a = a.parse_args()

def now():
    return time.clock_gettime_ns(time.CLOCK_MONOTONIC)

base = now() + 200_000_000
due = [base + round(i * 60e9 / 24 / a.bpm) for i in range(a.ticks)]
children = []
for _ in range(a.busy):
    pid = os.fork()
    if pid == 0:
        while now() < due[-1] + 500_000_000:
            sum(range(20000))
        os._exit(0)
    children.append(pid)
r, w = os.pipe()
pid = os.fork()
if pid == 0:
    os.close(r)
    for at in due:
        left = at - now()
        if left > 0:
            time.sleep(left / 1e9)
        os.write(w, b"\xf8")
    os._exit(0)
children.append(pid)
os.close(w)
arrived = []
while len(arrived) < a.ticks:
    got = os.read(r, 64)
    at = now()
    if not got:
        break
    arrived += [at] * len(got)
for pid in children:
    os.waitpid(pid, 0)
print(f"# {a.bpm:g} BPM through a pipe, {a.busy} busy processes beside it")
for t, at in zip(due, arrived):
    print((t - base + 1_000_000_000) // 1000, (at - base + 1_000_000_000) // 1000)
