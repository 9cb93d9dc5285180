# SPDX-License-Identifier: GPL-3.0-or-later
"""Draws with gnuplot the passages that the detector finds in one hard capture. Usage: plot_heard.py PROGRAM OUT.svg

The capture has bands with a level step, crackle, hum, announcements, a held note of music on one channel and a burst of one-channel speech.
"""
import argparse
import json
import pathlib
import re
import subprocess
import tempfile

import numpy as np

import sounds
from sounds import RATE


def hard_capture():
    rng = np.random.default_rng(12)
    n = 40 * RATE
    t = np.arange(n) / RATE
    x = np.stack([sounds.pink(rng, n), sounds.pink(rng, n)], 1) * 0.004
    put = lambda at, y, gains: x.__setitem__(slice(int(at * RATE), int(at * RATE) + y.size), x[int(at * RATE) : int(at * RATE) + y.size] + np.outer(y, gains))
    tone = lambda hz, length: 0.15 * np.sin(2 * np.pi * hz * np.arange(int(length * RATE)) / RATE + 0.3 * np.sin(2 * np.pi * np.arange(int(length * RATE)) / RATE / 1.8))
    loud = lambda y: 0.25 * y / np.max(np.abs(y))
    put(1.0, loud(sounds.espeak("Left channel, one thousand hertz.")), (1.0, 0.9))
    stepped = tone(1000, 5)
    stepped[int(2.5 * RATE) :] *= 0.45
    put(4.0, stepped, (1.0, 0.03))
    put(9.0, tone(1000, 5), (0.02, 1.0))
    put(14.6, loud(sounds.espeak("In phase.")), (1.0, 0.9))
    put(16.0, tone(1000, 3), (1.0, 0.95))
    put(20.0, loud(sounds.sound("/usr/share/sonic-pi/samples/ambi_glass_hum.flac")[: 6 * RATE]), (1.0, 0.0))
    put(26.5, loud(sounds.flite("Only on the right, and no test tone at all."))[: 4 * RATE], (0.0, 1.0))
    put(31.5, tone(3150, 3), (1.0, 0.03))
    put(35.0, tone(3150, 3), (0.03, 1.0))
    for k in range(1, 12):
        x += np.outer(0.006 / k * np.sin(2 * np.pi * 50 * k * t), (1.0, 0.8))
    for at in rng.integers(0, n - 100, 600):
        x[at : at + 40] += np.outer(rng.uniform(0.2, 0.8) * np.exp(-np.arange(40) / 10) * rng.standard_normal(40), rng.uniform(-1, 1, 2))
    return 0.8 * x / np.max(np.abs(x))


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("program")
    parser.add_argument("out", type=pathlib.Path)
    a = parser.parse_args()
    x = hard_capture()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        sounds.write_wav16(folder / "hard.wav", x)
        done = subprocess.run([a.program, "measure", "--json", "--quiet", "--rejected", folder / "hard.wav"], capture_output=True, text=True, check=True)
        passages = json.loads(done.stdout)["passages"]
        text = re.sub(r"\n\s{4,}", " ", done.stderr)  # a long reason is wrapped
        rejected = [(float(b), float(e)) for b, e in re.findall(r"- ([\d.]+)-([\d.]+) s", text)]
        frame = RATE // 20
        level = 20 * np.log10(np.sqrt(np.mean(x[: x.shape[0] // frame * frame].reshape(-1, frame, 2) ** 2, 1)) + 1e-5)
        np.savetxt(folder / "level.txt", np.column_stack([(np.arange(level.shape[0]) + 0.5) / 20, level]), fmt="%.3f")
        colours = {"left": "#3b7dd8", "right": "#d8743b", "both": "#4a9d5b"}
        lines = ["set terminal svg size 1100,420 font 'sans,12'", f"set output '{a.out}'", "set xrange [0:40]", "set yrange [-75:5]", "set xlabel 'seconds'",
                 "set ylabel 'level, dBFS'", "set key outside top center horizontal", "set title 'Shaded: passages found. Grey at the bottom: tone-like signals that were rejected.'"]
        for p in passages:
            lines.append(f"set object rectangle from {p['start_s']},-65 to {p['end_s']},5 fc rgb '{colours[p['driven']]}' fs transparent solid 0.25 noborder")
            lines.append(f"set label \"{p['driven']}\\n{p['frequency_hz']:.0f} Hz\" at {(p['start_s'] + p['end_s']) / 2},-58 center font 'sans,10'")
        for b, e in rejected:
            lines.append(f"set object rectangle from {b},-75 to {e},-66 fc rgb '#888888' fs solid 0.6 noborder")
        lines.append(f"plot '{folder}/level.txt' using 1:2 with lines lc rgb '#1f4e8c' title 'left', '' using 1:3 with lines lc rgb '#a64b12' title 'right'")
        (folder / "plot.gp").write_text("\n".join(lines) + "\n")
        subprocess.run(["gnuplot", folder / "plot.gp"], check=True)
    print(f"{a.out}: {len(passages)} passages, {len(rejected)} rejected stretches")


if __name__ == "__main__":
    main()
