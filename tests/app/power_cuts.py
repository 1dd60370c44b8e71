#!/usr/bin/env python3
"""Power cuts over a hand-over: usage power_cuts.py ADRET_CLI SITE FOLDER CUTS [unflushed]

The calls of one hand-over into a folder that holds an earlier one are recorded (strace). At random
moments a disk is made of them: of each file what was flushed and any part of what was not, torn at
512 bytes; of each name changed since its folder was flushed either. On it every package and report
must be absent or whole, the earlier ones whole, and after "done" the new ones there. "unflushed": as if
nothing had been flushed, which must be found.
"""
import os
import random
import re
import subprocess
import sys

cli, site, folder, cuts = sys.argv[1:4] + [int(sys.argv[4])]
flushed = sys.argv[5:] != ["unflushed"]
rng = random.Random(1)
folder = os.path.realpath(folder)
command = [cli, "handover", site, "--out", folder, "--draws", "0", "--quiet"]
subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
before = {n: open(os.path.join(folder, n), "rb").read() for n in os.listdir(folder)}
trace = folder + ".trace"
calls = "openat,read,write,writev,pwrite64,lseek,ftruncate,fsync,fdatasync,rename,renameat2,unlink,unlinkat"
subprocess.run(["strace", "-f", "-y", "-xx", "-s", "10000000", "-o", trace, "-e", "trace=" + calls]
               + command, check=True, stdout=subprocess.DEVNULL)
after = {n: open(os.path.join(folder, n), "rb").read() for n in os.listdir(folder)}
new = {n: after[n] for n in after if n not in before}
assert len(before) == 2 and len(new) == 2, (sorted(before), sorted(new))

NAMED = re.compile(r'(?:\\x[0-9a-f]{2})+')


def text(hexed):
    return bytes.fromhex(hexed.replace("\\x", "")).decode("utf-8", "surrogateescape")


def full(hexed):
    return os.path.normpath(os.path.join(os.getcwd(), text(hexed)))


# What happened, in order: ("write", file, offset, bytes), ("flush", path), ("name", old, new).
events, position = [], {}
for line in open(trace, encoding="latin-1"):
    found = re.match(r"\d+\s+(\w+)\((.*)\)\s+= (-?\d+)", line)
    if not found or int(found[3]) < 0:
        continue
    name, arguments, result = found[1], found[2], int(found[3])
    on = re.match(r"(\d+)<([^>]*)>", arguments)
    path = text(on[2]) if on and on[2].startswith("\\x") else (on[2] if on else "")
    path = re.sub(r" \(deleted\)$", "", path)
    quoted = re.findall(r'"((?:\\x[0-9a-f]{2})*)"', arguments)
    if name == "openat" and quoted:
        position[full(quoted[0])] = 0
    elif path.startswith(folder) and name in ("write", "pwrite64"):
        data = bytes.fromhex(quoted[0].replace("\\x", ""))[:result]
        at = int(arguments.rsplit(",", 1)[1]) if name == "pwrite64" else position.get(path, 0)
        events.append(("write", path, at, data))
        if name == "write":
            position[path] = at + len(data)
    elif path.startswith(folder) and name == "read":
        position[path] = position.get(path, 0) + result
    elif path.startswith(folder) and name == "lseek":
        position[path] = result
    elif name in ("fsync", "fdatasync") and path.startswith(folder):
        if flushed:
            events.append(("flush", path))
    elif name in ("rename", "renameat2"):
        events.append(("name", full(quoted[0]), full(quoted[1])))
    elif name in ("writev", "ftruncate") and path.startswith(folder) and ".zip" in path:
        sys.exit("power_cuts: a call that is not modelled: " + name)


def whole(pieces):
    out = bytearray()
    for at, data in pieces:
        out.extend(b"\0" * max(0, at + len(data) - len(out)))
        out[at:at + len(data)] = data
    return bytes(out)


def disk_after(count):
    safe, loose, old_names, names = {}, {}, [], []
    for event in events[:count]:
        if event[0] == "write":
            loose.setdefault(event[1], []).append(event[2:])
        elif event[0] == "flush":
            safe.setdefault(event[1], []).extend(loose.pop(event[1], []))
            done = [n for n in names if os.path.dirname(n[2]) == event[1]]
            old_names += done
            names = [n for n in names if n not in done]
        else:
            for kept in (safe, loose):
                if event[1] in kept:
                    kept[event[2]] = kept[event[1]]  # the bytes are the file's, by either name
            names.append(event)
    disk = {}
    for _, old, target in old_names + [n for n in names if rng.random() < 0.5]:
        pieces = list(safe.get(target, []))
        for at, data in loose.get(target, []):
            if rng.random() < 0.5:
                pieces.append((at, data[:512 * rng.randint(0, len(data) // 512 + 1)]))
        if os.path.dirname(target) == folder:
            disk[os.path.basename(target)] = whole(pieces)
    return disk


torn = lost = with_new = 0
for i in range(cuts):
    count = len(events) if i == 0 else rng.randint(0, len(events))
    # Half of them where names change.
    if i % 2:
        change = rng.choice([k for k, e in enumerate(events) if e[0] == "name"])
        count = min(len(events), change + rng.randint(1, 3))
    disk = disk_after(count)
    with_new += bool(disk)
    torn += any(disk[n] != new.get(n, before.get(n)) for n in disk)
    lost += any(n in disk and disk[n] != before[n] for n in before)
    if count == len(events):
        lost += any(n not in disk for n in new)
os.remove(trace)
print(f"{cuts} cuts over {len(events)} calls, {with_new} of them with a new file: "
      f"{torn} torn, {lost} lost")
sys.exit(1 if torn or lost else 0)
