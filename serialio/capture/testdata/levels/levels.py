"""Levels of two wires with characters of 1200 bit/s, 8 bits, odd parity, 1 stop bit.

usage: levels.py FORMAT SEED CLOCK LEVELS CHARACTERS

FORMAT is vcd, edges, samples or inverted (samples of inverted wires, decimal commas,
milliseconds). CLOCK is by how much a talker's clock is wrong, 0.02 for bits that are
2 % too long. It writes the levels to the file LEVELS, and to the file CHARACTERS what
was sent: wire, nanoseconds of the start bit's edge, hex, words for what is wrong with
it or stands before it.
"""

import random
import sys

FORMAT, SEED, CLOCK = sys.argv[1], int(sys.argv[2]), float(sys.argv[3])
rng = random.Random(SEED)
BIT = 1e9 / 1200  # ns
TALKER = BIT * (1 + CLOCK)
WIRES = ["rx", "tx"]


def talk():
    """Characters of one wire, and the edges that they make."""
    at = rng.uniform(5e6, 50e6)
    levels, sent = [(0.0, 1)], []

    def put(bit, length=1.0):
        nonlocal at
        levels.append((at, bit))
        at += length * TALKER

    before = ""
    for n in range(150):
        value = rng.choice([0x00, 0xFF, 0x80, 0x01, rng.randrange(256)])
        fault = rng.choice([""] * 12 + ["parity", "framing", "parity framing", "break"])
        if value == 0 and fault == "parity framing":
            fault = "framing"  # else no bit of it would be 1, which is a break
        sent.append((at, 0 if fault == "break" else value, " ".join((fault + " " + before).split())))
        if fault == "break":
            put(0, rng.uniform(11.5, 40))
            put(1, 0.5)
        else:
            put(0)
            ones = 0
            for i in range(8):
                put(value >> i & 1)
                ones += value >> i & 1
            parity = 1 - ones % 2
            put(1 - parity if "parity" in fault else parity)
            put(0 if "framing" in fault else 1)
        # Behind a wrong stop bit or none, the next character begins at once or after a rest.
        rest = rng.choice([0, 0, 0, 0, 0.5, 2.5, 8]) * 11
        before = {27.5: "gap", 88: "cut"}.get(rest, "")
        if fault == "break":
            before = before if rest else ""
            rest = rest or 3.0
        if rest:
            put(1, rest)
    put(1, 20)
    return levels, sent, at


def edges(levels):
    """Changes only."""
    out = []
    for t, v in levels:
        if not out or out[-1][1] != v:
            out.append((t, v))
    return out


def glitches(changes, end):
    """Pulses of 20 to 90 µs, none of them near an edge."""
    out = []
    for (t, v), (then, _) in zip(changes, changes[1:] + [(end, 0)]):
        out.append((t, v))
        while then - t > 8e5 and rng.random() < 0.3:
            g = rng.uniform(t + 2e5, t + 5e5)
            length = rng.uniform(2e4, 9e4)
            out += [(g, 1 - v), (g + length, v)]
            t = g + length
    return out


wires, report = {}, []
for w in WIRES:
    levels, sent, end = talk()
    wires[w] = (glitches(edges(levels), end), end)
    report += [(w, *s) for s in sent]
end = max(e for _, e in wires.values())

changes = sorted((t, w, v) for w in WIRES for t, v in wires[w][0])


def write_vcd(f):
    step = 100.0  # ns
    f.write("$date an afternoon $end\n$version made by hand $end\n$timescale 100 ns $end\n")
    f.write("$scope module bench $end\n$var real 64 r voltage $end\n$var wire 1 ! rx $end\n")
    f.write("$var reg 8 # bus [7:0] $end\n$scope module inner $end\n$var wire 1 \" tx $end\n")
    f.write("$upscope $end\n$upscope $end\n$comment bit 3 of bus is tx once more $end\n$enddefinitions $end\n")
    f.write("#0\n$dumpvars\nr24.5 r\nx!\nbx #\nx\"\n$end\n")
    for t, w, v in changes:
        f.write(f"#{round(t / step)}\n")
        f.write(f"{v}!\n" if w == "rx" else f'{v}"\nb{v}{rng.randrange(8):03b} #\n')
    f.write(f"#{round(end / step)}\n")


def write_edges(f):
    f.write("Time [s],rx,tx\n")
    now = {"rx": "", "tx": ""}
    for t, w, v in changes:
        now[w] = str(v)
        f.write(f"{t / 1e9:.9f},{now['rx']},{now['tx']}\n")


def write_samples(f, inverted):
    f.write("# a remark of two lines\n")
    f.write("recorded;in the afternoon\n\n")
    f.write("Time;first wire;second wire\n(ms);;\n" if inverted else "time;rx;tx\n")
    at, i, now = 0.0, 0, {"rx": 1, "tx": 1}
    while at < end:
        while i < len(changes) and changes[i][0] <= at:
            now[changes[i][1]] = changes[i][2]
            i += 1
        if inverted:
            f.write(f"{at / 1e6:.3f}".replace(".", ",") + f";{1 - now['rx']};{1 - now['tx']}\n")
        else:
            f.write(f"{at / 1e9:.6e};{now['rx']};{now['tx']}\n")
        at += 20e3


with open(sys.argv[4], "w", encoding="utf-8") as f:
    if FORMAT == "vcd":
        write_vcd(f)
    elif FORMAT == "edges":
        write_edges(f)
    else:
        write_samples(f, FORMAT == "inverted")
with open(sys.argv[5], "w", encoding="utf-8") as f:
    for w, t, value, words in report:
        f.write(f"{w} {t:.0f} {value:02x} {words}\n")
