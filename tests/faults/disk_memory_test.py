# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests rows D of docs/reliability.md: disks that are full, read-only or broken, and too little memory."""
import contextlib
import errno
import json
import os
import pathlib
import re
import resource
import shutil
import subprocess
import threading
import unittest

from bench import OLD, PROGRAM, SANITIZED, FaultCase, evenwall, injected

A_READING = '{"schema":"evenwall/reading/1"}\n'
DOCUMENT = "evenwall/reading"  # the write of the result has this text near its beginning


def limited(kind, amount):
    return lambda: resource.setrlimit(kind, (amount, amount))


class DiskAndMemory(FaultCase):
    """Tests outputs that cannot be written, and missing memory."""

    def assertOldIntact(self, run, *patterns):
        self.assertEqual((1, ""), (run.status, run.out), run.err)
        self.assertRegex(run.err, r"\Aevenwall: [^\n]+\. [^\n]+\n\Z")
        for pattern in patterns:
            self.assertRegex(run.err, pattern)
        self.assertEqual(OLD, self.old.read_text())
        self.assertEqual([], list(self.folder.glob(".*.tmp-*")))

    def writing(self, *faults, words=("measure", "--json"), **more):
        """Runs the program on an existing output, with faults injected into the writing."""
        self.old = self.put("out.json", OLD)
        return evenwall(*words, self.capture, "-o", self.old, wrap=injected(*faults, **more, first_process_only="path" not in more))

    def nth(self, call, part):
        """Returns the number of the first process's first call with `part` in its line. (A sanitizer's runtime writes too, to test what it may read.)"""
        trace = self.folder / "trace"
        evenwall("measure", "--json", self.capture, "-o", self.put("out.json", OLD), wrap=["strace", "-o", trace, "-e", f"trace={call}"])
        lines = trace.read_text().splitlines()
        trace.unlink()
        return 1 + next(i for i, line in enumerate(lines) if part in line)

    def test_D1_no_space(self):
        self.assertOldIntact(self.writing(f"openat:error=ENOSPC:when={self.nth('openat', 'O_TMPFILE')}"), "out.json", "No space left")
        for call, part in (("write", DOCUMENT), ("fsync", "")):
            self.assertOldIntact(self.writing(f"{call}:error=ENOSPC:when={self.nth(call, part)}"), "out.json", "No space left")
        full = self.mounted("size=64k")
        if full is None:
            return
        target = full / "out"
        target.write_text(OLD)
        lines = full / "lines.jsonl"
        lines.write_text(A_READING)
        run = evenwall("simulate", "--scenario", self.shared / "scenario.json", "-o", full / "made")
        self.assertEqual((1, ""), (run.status, run.out))
        self.assertRegex(run.err, "step-01.wav: the file cannot be written.*Make room")
        self.assertFalse((full / "made").exists())
        (full / "filler").write_bytes(bytes(45_000))
        many = [self.capture] * 40
        run = evenwall("measure", "--json", *many, "-o", target)
        self.assertEqual((1, OLD), (run.status, target.read_text()))
        self.assertRegex(run.err, "out: the file cannot be written: No space left on device. Make room")
        self.assertEqual([], list(full.glob(".*")))
        with open(full / "rest", "wb", buffering=0) as rest, contextlib.suppress(OSError):
            while True:
                rest.write(bytes(512))
        run = evenwall("measure", "--json", *self.captures, "--append", lines)  # the first line still fits into its page
        self.assertEqual((1, len(lines.read_text().splitlines()) - 1), (run.status, len(run.out.splitlines())), run.err)
        self.assertRegex(run.err, "the reading was not added.*lines.jsonl: the file cannot be written: No space left on device. Make room")
        text = lines.read_text()
        self.assertTrue(text.startswith(A_READING) and text.endswith("\n"))
        for line in text.splitlines():
            json.loads(line)

    def mounted(self, options):
        """Returns a small separate file system, or None if mounting is not allowed."""
        place = self.folder / "disk"
        place.mkdir()
        if subprocess.run(["mount", "-t", "tmpfs", "-o", options, "tmpfs", place], capture_output=True).returncode != 0:
            return None
        self.addCleanup(subprocess.run, ["umount", place])
        return place

    def test_D2_broken_medium(self):
        for call, part in (("write", DOCUMENT), ("fsync", ""), ("rename", "")):
            with self.subTest(call):
                self.assertOldIntact(self.writing(f"{call}:error=EIO:when={self.nth(call, part)}"), "out.json", "Input/output error")
        trace = self.folder / "trace"
        wrap = injected("fsync:error=EIO:when=1+", first_process_only=True)
        wrap[wrap.index("/dev/null")] = trace
        self.old = self.put("out.json", OLD)
        self.assertOldIntact(evenwall("measure", "--json", self.capture, "-o", self.old, wrap=wrap))
        self.assertEqual(1, trace.read_text().count("fsync("), "a failed fsync must not be tried again")

    def test_D3_read_only(self):
        folder = self.folder / "closed"
        folder.mkdir()
        (folder / "out.json").write_text(OLD)
        os.chmod(folder, 0o555)
        from audio_medium_test import become_nobody
        for name in ("out.json", "new.json"):
            for flag in ("-o", "--append"):
                run = evenwall("measure", self.capture, flag, folder / name, before=become_nobody, watch=self.folder)
                if (name, flag) != ("out.json", "--append"):
                    self.assertRefused(run, name, "written")
        self.assertRefused(evenwall("measure", self.put("none.wav", b""), "-o", "/proc/new.json", watch=self.folder), "/proc/new.json")
        disk = self.mounted("ro")
        if disk is not None:
            # The program tries the output before it reads the capture.
            self.assertRefused(evenwall("measure", self.put("none.wav", b""), "-o", disk / "out.json"), "out.json", "Read-only file system")
            self.assertRefused(evenwall("simulate", "--scenario", self.shared / "scenario.json", "-o", disk / "made"), "made", "Read-only file system")

    def test_D4_kinds_of_targets(self):
        measure = ["measure", "--json", self.capture, "-o"]
        expected = evenwall("measure", "--json", self.capture).out
        self.assertRefused(evenwall(*measure, self.folder, watch=self.folder), "folder")
        real, link, dangling = self.put("real.json", OLD), self.folder / "link.json", self.folder / "dangling.json"
        os.symlink("real.json", link)
        os.symlink("to-be.json", dangling)
        self.assertEqual(0, evenwall(*measure, link).status)
        self.assertEqual((True, expected), (link.is_symlink(), real.read_text()))
        self.assertEqual(0, evenwall(*measure, dangling).status)
        self.assertEqual((True, expected), (dangling.is_symlink(), (self.folder / "to-be.json").read_text()))
        os.symlink("round.json", self.folder / "round.json")
        self.assertRefused(evenwall(*measure, self.folder / "round.json", watch=self.folder), "round.json")
        for target in ("/dev/null", "/dev/stdout", "/dev/fd/1"):
            run = evenwall(*measure, target)
            self.assertEqual((0, "" if target == "/dev/null" else expected), (run.status, run.out), run.err)
        fifo = self.folder / "fifo"
        os.mkfifo(fifo)
        got = []
        reader = threading.Thread(target=lambda: got.append(fifo.read_text()))
        reader.start()
        self.assertEqual(0, evenwall(*measure, fifo).status)
        reader.join(timeout=10)
        self.assertEqual([expected], got)
        self.assertRegex(evenwall(*measure, "/dev/full").err, "/dev/full: the file cannot be written: No space left")
        self.assertRefused(evenwall("measure", self.capture, "--append", "/dev/null"), "regular file")

    def test_D5_limits_of_size(self):
        self.old = self.put("out.json", OLD)
        limit = limited(resource.RLIMIT_FSIZE, 1000)
        self.assertOldIntact(evenwall("measure", "--json", self.capture, "-o", self.old, before=limit), "File too large. Make room")
        lines = self.put("lines.jsonl", A_READING)
        run = evenwall("measure", self.capture, "--append", lines, before=limit)
        self.assertEqual((1, A_READING), (run.status, lines.read_text()), run.err)
        self.assertOldIntact(self.writing(f"write:error=EDQUOT:when={self.nth('write', DOCUMENT)}"), "quota exceeded. Make room")

    def test_D6_too_little_memory(self):
        if SANITIZED:
            self.skipTest("sanitizers need unlimited address space")
        least = None
        self.old = self.put("out.json", OLD)
        # With less than the program's own file and the stack, the kernel ends the program before its first instruction.
        mapped = (os.stat(PROGRAM).st_size >> 20) + 2
        for mebibytes in (*range(mapped, 40, 3), *range(40, 400, 20)):
            with self.subTest(mebibytes):
                self.old.write_text(OLD)
                run = evenwall("measure", "--json", "--jobs", 1, self.capture, "-o", self.old, wrap=["prlimit", f"--as={mebibytes << 20}"])
                loader = run.status == 127 or "error while loading" in run.err or "prlimit" in run.err
                if not loader:
                    self.assertIn(run.status, (0, 1), run.err)
                    self.assertEqual(run.status == 0, self.old.read_text() != OLD)
                    self.assertRegex(run.err, r"\A\Z" if run.status == 0 else r"\Aevenwall: [^\n]+\n\Z")
                self.assertEqual([], list(self.folder.glob(".*.tmp-*")))
                least = least or (mebibytes if run.status == 0 else None)
        self.assertIsNotNone(least, "the program must succeed with enough memory")
        # tests/faults/memory_test.py lets the n-th allocation fail.

    def test_D7_no_descriptors(self):
        few = "open files"
        self.assertOldIntact(self.writing(f"openat:error=EMFILE:when={self.nth('openat', 'O_TMPFILE')}"), "out.json", few)
        self.assertOldIntact(self.writing("openat:error=EMFILE:when=1+", path=self.capture), self.capture.name, few)
        fifo = self.folder / "fifo"
        os.mkfifo(fifo)
        keeper = os.open(fifo, os.O_RDWR)  # so that opening it does not wait
        self.addCleanup(os.close, keeper)
        if not SANITIZED:  # a sanitizer's runtime tests memory through a pipe, which takes two descriptors
            self.assertRefused(evenwall("measure", fifo, wrap=["prlimit", "--nofile=5"]), few)  # GNU time uses one of them

    def test_D8_other_file_system(self):
        there = pathlib.Path("/dev/shm")
        if not os.access(there, os.W_OK) or there.stat().st_dev == self.folder.stat().st_dev:
            self.skipTest("no second file system")
        target = there / f"evenwall-fault-{os.getpid()}.json"
        self.addCleanup(target.unlink, missing_ok=True)
        trace = self.folder / "trace"
        run = evenwall("measure", "--json", self.capture, "-o", target, wrap=["strace", "-f", "-o", trace, "-e", "trace=rename"],
                       env={"TMPDIR": str(self.folder), "ASAN_OPTIONS": "exitcode=99:detect_leaks=0"})  # a traced process cannot be searched for memory leaks
        self.assertEqual(0, run.status, run.err)
        self.assertRegex(trace.read_text(), rf'rename\("{there}/\.{re.escape(target.name)}\.tmp-[a-z0-9]+-[a-z0-9]{{6}}", "{re.escape(str(target))}"\) = 0')

    def test_D9_mode_is_kept(self):
        target = self.put("out.json", OLD * 1000)
        for mode in (0o640, 0o600, 0o664):
            os.chmod(target, mode)
            run = evenwall("measure", "--json", self.capture, "-o", target)
            self.assertEqual((0, mode), (run.status, target.stat().st_mode & 0o7777))
            self.assertEqual("evenwall/reading/1", json.loads(target.read_text())["schema"])
        linked = self.folder / "other-name.json"
        os.link(target, linked)
        self.assertEqual(0, evenwall("measure", "--json", self.capture, "-o", target).status)
        self.assertNotEqual(linked.stat().st_ino, target.stat().st_ino)

    def test_D10_outputs_are_synced_before_the_end(self):
        """The order is: fsync of the file, rename, fsync of the folder, and only then the end."""
        for words, tail in ((["-o", self.folder / "out.json"], ["fsync", "rename", "openat", "fsync"]), (["--append", self.folder / "l.jsonl"], ["write", "fsync", "openat", "fsync"])):
            trace = self.folder / "trace"
            run = evenwall("measure", "--quiet", "--json", self.capture, *words, stdout=subprocess.DEVNULL,
                           wrap=["strace", "-o", trace, "-e", "trace=openat,write,fsync,rename,exit_group"])
            self.assertEqual(0, run.status, run.err)
            calls = [line.split("(")[0] for line in trace.read_text().splitlines() if "(" in line]
            self.assertEqual([*tail, "exit_group"], calls[-len(tail) - 1:])

    def test_D11_rename_fails(self):
        for error in ("EACCES", "EPERM", "EBUSY", "ENOSPC", "EIO", "EXDEV", "EROFS"):
            with self.subTest(error):
                self.assertOldIntact(self.writing(f"rename:error={error}:when=1"), "out.json", "cannot be put in place", re.escape(os.strerror(getattr(errno, error))))
        if shutil.which("chattr") and subprocess.run(["chattr", "+i", self.put("fixed.json", OLD)], capture_output=True).returncode == 0:
            self.addCleanup(subprocess.run, ["chattr", "-i", self.folder / "fixed.json"])
            run = evenwall("measure", "--json", self.capture, "-o", self.folder / "fixed.json")
            self.assertEqual((1, OLD), (run.status, (self.folder / "fixed.json").read_text()))
            self.assertEqual([], list(self.folder.glob(".*.tmp-*")))


if __name__ == "__main__":
    unittest.main()
