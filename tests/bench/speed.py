# SPDX-License-Identifier: GPL-3.0-or-later
"""Compares the program's time with one sf_readf_float pass over the same file, each interleaved with the other, and writes the table of docs/speed.md.

usage: speed.py PROGRAM READ_PASS [--page FILE] [--rounds N] [--seconds S]
Exits with 1 if a figure exceeds its bound. The program runs one thread unless a row states otherwise. Other work on the machine disturbs the figures."""
import argparse
import os
import pathlib
import platform
import shutil
import statistics
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, str(pathlib.Path(__file__).parent))
import bench_capture  # noqa: E402
import bench_readings  # noqa: E402


def run(command):
    """Returns wall seconds, processor seconds and peak memory in MB. time(1) runs the command, as a direct child would count this program's memory too."""
    with tempfile.NamedTemporaryFile("r") as told:
        begin = time.perf_counter()
        done = subprocess.run(["/usr/bin/time", "-q", "-f", "%U %S %M", "-o", told.name, *map(str, command)],
                              stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        wall = time.perf_counter() - begin
        if done.returncode != 0:
            raise SystemExit(f"failed with {done.returncode}: {' '.join(map(str, command))}")
        user, system, memory_kb = (float(x) for x in told.read().split()[-3:])
    return wall, user + system, memory_kb / 1024


def processor_s(command):
    """Returns the processor seconds of a short run, because time(1) resolves only hundredths of a second."""
    child = subprocess.Popen(list(map(str, command)), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0:
        raise SystemExit(f"failed with {child.returncode}: {' '.join(map(str, command))}")
    return used.ru_utime + used.ru_stime


def interleaved(rounds, **commands):
    """Runs the commands in turn. Returns the medians of each command's wall and processor seconds, and its largest memory."""
    seen = {name: [] for name in commands}
    for _ in range(rounds):
        for name, command in commands.items():
            seen[name].append(run(command))
    return {name: (statistics.median(s[0] for s in results), statistics.median(s[1] for s in results), max(s[2] for s in results))
            for name, results in seen.items()}


SCIPY = "import sys; sys.path.insert(0, sys.argv[1]); import session_twin as s; rate, x = s.read(sys.argv[2]); s.passages(*s.cross_spectra(x, rate)[:3])"


class Table:
    def __init__(self):
        self.rows, self.good = [], True

    def add(self, what, found, bound=None, unit=""):
        held = bound is None or found <= bound
        self.good &= held
        limit = "" if bound is None else f"{bound:g}{unit}"
        self.rows.append(f"| {what} | {found:.3g}{unit} | {limit} | {'' if bound is None else 'yes' if held else '**no**'} |")
        print(self.rows[-1], flush=True)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("program")
    parser.add_argument("read_pass")
    parser.add_argument("--page")
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--seconds", type=int, default=1200)
    told = parser.parse_args()
    table = Table()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        short = folder / "short.wav"
        bench_capture.write_capture(short, 120)
        long, twice = folder / "long.wav", folder / "twice.wav"
        bench_capture.write_capture(long, told.seconds)
        measure = [told.program, "measure", "--jobs", "1"]
        run([told.read_pass, long])  # loads the file into the page cache
        m = interleaved(told.rounds, read=[told.read_pass, long], measure=[*measure, long])
        table.add(f"`measure`, WAV 24/96, {told.seconds // 60} min, 2/3 of it tones: processor time, of one `sf_readf_float` pass", m["measure"][1] / m["read"][1], 1.0, " ×")
        table.add("the same, by the clock", m["measure"][0] / m["read"][0], None, " ×")
        table.add("peak memory", m["measure"][2], 24, " MB")
        real = folder / "real.wav"
        for name in list(bench_capture.KINDS)[1:]:
            bench_capture.write_capture(real, told.seconds // 4, kind=bench_capture.KINDS[name])
            run([told.read_pass, real])
            k = interleaved(told.rounds, read=[told.read_pass, real], measure=[*measure, real])
            table.add(f"{told.seconds // 240} min with {name}: processor time, of one pass", k["measure"][1] / k["read"][1], 1.0, " ×")
        real.unlink()
        flac = folder / "long.flac"
        subprocess.run(["flac", "-s", "-5", "-o", flac, long], check=True, stderr=subprocess.DEVNULL)
        f = interleaved(max(3, told.rounds // 2), read=[told.read_pass, flac], measure=[*measure, flac])
        table.add("FLAC of it: processor time, of its own decode", f["measure"][1] / f["read"][1], 1.15, " ×")
        table.add("peak memory", f["measure"][2], 24, " MB")
        flac.unlink()
        bench_capture.write_capture(twice, 2 * told.seconds)
        run([told.read_pass, twice])
        d = interleaved(told.rounds, once=[*measure, long], twice=[*measure, twice])
        table.add("twice the length: processor time", d["twice"][1] / d["once"][1], 2.05, " ×")
        twice.unlink()
        hour = folder / "hour.wav"
        bench_capture.write_capture(hour, 3 * told.seconds)
        table.add(f"peak memory, {3 * told.seconds // 60} min", run([*measure, hour])[2], 24, " MB")
        subprocess.run(["flac", "-s", "-5", "-o", flac, hour], check=True, stderr=subprocess.DEVNULL)
        hour.unlink()
        table.add("the same, FLAC", run([*measure, flac])[2], 24, " MB")
        flac.unlink()
        second = folder / "second.wav"
        shutil.copy(long, second)
        two = interleaved(max(3, told.rounds // 2), one=[told.program, "measure", "--jobs", "1", long, second],
                          both=[told.program, "measure", "--jobs", "2", long, second])
        table.add("two captures on two cores, of one after the other, by the clock", two["both"][0] / two["one"][0], 0.6, " ×")
        second.unlink()
        many = folder / "many"
        many.mkdir()
        for i in range(500):
            if i == 0:
                bench_capture.write_capture(many / "0.wav", 12, band_s=4, gap_s=1)
            else:
                os.link(many / "0.wav", many / f"{i}.wav")
        captures = [many / f"{i}.wav" for i in range(500)]
        ones = [processor_s([*measure, captures[0]]) for _ in range(100)]
        start, one = statistics.mean(processor_s([told.program, "--version"]) for _ in range(100)), statistics.mean(ones)
        all_s = statistics.median(processor_s([*measure, *captures]) for _ in range(3))
        table.add("a folder of 500 captures, beyond the sum of its parts, a capture", 1000 * max(0.0, all_s - 500 * (one - start)) / 500, 3, " ms")
        v = interleaved(20, version=[told.program, "--version"])
        table.add("`--version`, by the clock", 1000 * v["version"][0], 5, " ms")
        solving(table, told, folder)
        others(table, long, m["read"])
        s = interleaved(3, read=[told.read_pass, short], scipy=["/usr/bin/python3", "-c", SCIPY, pathlib.Path(__file__).parents[1] / "reference", short])
        table.add("reading and spectra of the SciPy script of tests/reference, two minutes of it, of a pass over those", s["scipy"][1] / s["read"][1], None, " ×")
    if told.page:
        write_page(pathlib.Path(told.page), table)
    return 0 if table.good else 1


def solving(table, told, folder):
    """Times sessions longer than real ones, so that a time that grows faster than the number of steps shows."""
    long, wrong, quarter = folder / "long.jsonl", folder / "wrong.jsonl", folder / "quarter.jsonl"
    bench_readings.write_readings(long, 1000)
    bench_readings.write_readings(wrong, 1000, gauge_u_deg=0.05, wrong=(3,))
    bench_readings.write_readings(quarter, 250)
    solve = [told.program, "solve", "--quiet", "--json"]
    s = interleaved(told.rounds, long=[*solve, long], wrong=[*solve, wrong], quarter=[*solve, quarter])
    table.add(f"`solve`, 1,000 readings ({long.stat().st_size / 1e6:.1f} MB), by the clock", 1000 * s["long"][0], 100, " ms")
    table.add("the same with a gauge stated and a step wrong", 1000 * s["wrong"][0], 100, " ms")
    table.add("1,000 readings, of 250", s["long"][1] / s["quarter"][1], 4.5, " ×")


def others(table, capture, read):
    """Times other programs on the same file."""
    for what, command in [("`sox stat` over the same file, processor time", ["sox", capture, "-n", "stat"]),
                          ("`ffmpeg` astats", ["ffmpeg", "-v", "error", "-threads", "1", "-i", capture, "-af", "astats", "-f", "null", "-"])]:
        table.add(what, statistics.median(run(command)[1] for _ in range(3)) / read[1], None, " ×")


def write_page(page, table):
    text = page.read_text()
    begin, end = "<!-- made by speed.py -->\n", "<!-- end -->\n"
    before, rest = text.split(begin)
    _, after = rest.split(end)
    made = f"On {os.cpu_count()} cores, {platform.machine()}, Linux {platform.release().split('-')[0]}.\n\n| what | found | limit | held |\n| --- | --- | --- | --- |\n"
    page.write_text(before + begin + made + "\n".join(table.rows) + "\n" + end + after)


if __name__ == "__main__":
    sys.exit(main())
