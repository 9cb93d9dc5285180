"""A decoder that has been taken over finds nothing to do (promise 2); what the program itself must do goes on working.

The shared object of hostile_decoder.cpp comes in EVENWALL_HOSTILE_DECODER.
"""
import errno
import json
import os
import pathlib
import re
import signal
import subprocess
import time
import unittest

from bench import PROGRAM, SANITIZED, FaultCase, await_readiness, evenwall, injected

DECODER = os.environ.get("EVENWALL_HOSTILE_DECODER")
ATTEMPTS = {"create", "mode", "change", "remove", "link", "temporary", "tcp", "udp", "local", "signal", "memory", "process", "run"}
# As if the kernel were too old.
NO_LANDLOCK, NO_SECCOMP = "landlock_create_ruleset:error=ENOSYS", "prctl:error=EINVAL"


@unittest.skipIf(SANITIZED, "a sanitizer's runtime must come first")
class Confinement(FaultCase):
    """The real program with the hostile decoder in it."""

    @classmethod
    def setUpClass(cls):
        """The same captures in an order of bytes that goes through the decoder; plain ones do not."""
        super().setUpClass()
        for wav in cls.captures:
            subprocess.run(["sox", wav, wav.with_suffix(".aiff")], check=True)
            wav.unlink()
        log = cls.session / "steps.csv"
        log.write_text(log.read_text().replace(".wav", ".aiff"))
        cls.captures = sorted(cls.session.glob("*.aiff"))
        cls.capture = cls.captures[0]
        cls.good = cls.capture.read_bytes()

    def attacked(self, *words, wrap=(), **more):
        """(run, [{attempt: errno}] of each capture opened)"""
        self.assertTrue(DECODER and os.path.exists(DECODER), "EVENWALL_HOSTILE_DECODER names no file")
        self.prey, self.outputs, self.temporary = (self.folder / name for name in ("prey", "outputs", "temporary"))
        for folder in (self.prey, self.outputs, self.temporary):
            folder.mkdir(exist_ok=True)
        (self.prey / "there").write_text("as it was")
        run = evenwall(*words, wrap=[*wrap, "env", f"LD_PRELOAD={DECODER}", f"HOSTILE_FOLDER={self.prey}", f"TMPDIR={self.temporary}"], **more)
        told = [{k: int(v) for k, v in re.findall(r"(\w+)=(\d+)", line)} for line in run.err.splitlines() if line.startswith("hostile:")]
        self.assertTrue(told, "the decoder was called: " + run.err)
        self.assertTrue(all(ATTEMPTS == set(t) for t in told))
        return run, told

    def assertHeld(self, told):
        for attempts in told:
            for attempt, error in attempts.items():
                self.assertIn(error, (errno.EACCES, errno.EPERM), (attempt, attempts))
        self.assertEqual(["there"], os.listdir(self.prey))
        self.assertEqual("as it was", (self.prey / "there").read_text())

    def test_without_the_kernels_help_the_decoder_does_harm(self):
        """Shows that the stand-in is hostile, and that the program works on kernels that know neither."""
        run, told = self.attacked("measure", "--json", self.capture, wrap=injected(NO_LANDLOCK, NO_SECCOMP))
        self.assertEqual(0, run.status, run.err)
        self.assertEqual({attempt: 0 for attempt in ATTEMPTS}, told[0])
        self.assertIn("created", os.listdir(self.prey))
        self.assertIn("touched", os.listdir(self.prey))

    def test_a_hostile_decoder_is_held(self):
        expected = {("measure",): self.capture, ("solve",): self.session, ("calibrate",): self.capture}
        for words, source in expected.items():
            for jobs in (1, 4):
                with self.subTest(words, jobs=jobs):
                    plain = evenwall(*words, "--json", "--jobs", jobs, source)
                    run, told = self.attacked(*words, "--json", "--jobs", jobs, source)
                    self.assertHeld(told)
                    self.assertEqual((plain.status, plain.out), (run.status, run.out))

    def test_outputs_and_streams_go_on(self):
        outputs = self.folder / "outputs"
        outputs.mkdir()
        target, lines, link = (outputs / name for name in ("out.json", "lines.jsonl", "link"))
        target.write_text("old")
        link.symlink_to("target")
        for words in (["-o", target], ["-o", outputs / "new.json"], ["-o", link], ["-o", "/dev/null"], ["-o", "/dev/stdout"], ["--append", lines],
                      ["--append", lines]):
            with self.subTest(words):
                run, told = self.attacked("measure", "--json", self.capture, *words)
                self.assertEqual(0, run.status, run.err)
                self.assertHeld(told)
        for path in (target, outputs / "new.json", outputs / "target"):
            self.assertEqual(str(self.capture), json.loads(path.read_text())["capture"])
        self.assertEqual(1, len(lines.read_text().splitlines()))  # a reading is added once
        run, told = self.attacked("measure", "--json", "-", stdin=self.good)
        self.assertEqual(0, run.status, run.err)  # its temporary copy was made in advance
        self.assertHeld(told)
        self.assertEqual([], os.listdir(self.temporary))

    def test_nothing_can_be_made_beside_an_output(self):
        """The prey is the output's own folder: another process writes there, and it takes no orders but the one."""
        for words, written in ((["--json", "-o"], "out.json"), (["--json", "--append"], "lines.jsonl")):
            with self.subTest(words):
                (self.folder / "prey" / written).unlink(missing_ok=True)
                run, told = self.attacked("measure", self.capture, *words, self.folder / "prey" / written)
                self.assertEqual(0, run.status, run.err)
                self.assertEqual(str(self.capture), json.loads((self.prey / written).read_text())["capture"])
                (self.prey / written).unlink()
                self.assertHeld(told)

    def test_refusals_come_through(self):
        """What the process that writes has to say is said as before, and its old file stays."""
        plain = evenwall("measure", self.capture, "-o", self.folder / "none" / "out.json")
        self.assertRefused(plain, "none/out.json", "No such file")
        target = self.put("out.json", "old")
        full = evenwall("measure", "--json", self.capture, "-o", target, wrap=injected("fsync:error=EIO"))
        self.assertRefused(full, "out.json", "Input/output error")
        self.assertEqual("old", target.read_text())

    def test_the_end_of_either_process_is_the_end_of_both(self):
        fifo, target = self.folder / "stalls", self.put("out.json", "old")
        os.mkfifo(fifo)
        for victim, number, status in ((0, signal.SIGKILL, -9), (1, signal.SIGKILL, -9), (1, signal.SIGSEGV, -11), (0, signal.SIGTERM, 143), (1, signal.SIGTERM, 143)):
            with self.subTest(victim=victim, number=number):
                child = subprocess.Popen([PROGRAM, "measure", fifo, "-o", target])
                workers = self.wait_for(lambda: children_of(child.pid))
                await_readiness(child.pid)
                os.kill([child.pid, workers[0]][victim], number)
                self.assertEqual(status, child.wait(timeout=10))
                self.wait_for(lambda: not os.path.exists(f"/proc/{workers[0]}") or b"Z" in pathlib.Path(f"/proc/{workers[0]}/stat").read_bytes().split(b")")[1][:3])
                self.assertEqual("old", target.read_text())

    def wait_for(self, holds, limit_s=10):
        deadline = time.monotonic() + limit_s
        while time.monotonic() < deadline:
            found = holds()
            if found:
                return found
            time.sleep(0.01)
        self.fail("it never came")

    def test_fifos_of_a_session(self):
        session = self.broken_session()
        fifo = session / "stream.aiff"
        os.mkfifo(fifo)
        log = (session / "steps.csv").read_text().replace(self.capture.name, "stream.aiff")
        (session / "steps.csv").write_text(log)
        with subprocess.Popen(["cp", self.capture, fifo]):
            run = evenwall("solve", "--json", session)
        self.assertEqual(0, run.status, run.err)
        self.assertEqual(4, len(run.json()["steps"]))

    def test_the_kernel_is_asked_before_a_second_thread(self):
        trace = self.folder / "trace"
        subprocess.run(["strace", "-f", "-o", trace, "-e", "trace=landlock_restrict_self,prctl,clone,clone3", PROGRAM, "measure",
                        self.capture], stdout=subprocess.DEVNULL, check=True)
        calls = [re.sub(r"^\d+ +", "", line) for line in trace.read_text().splitlines()]
        first_thread = next(i for i, call in enumerate(calls) if call.startswith("clone"))
        before = "\n".join(calls[:first_thread])
        self.assertRegex(before, r"landlock_restrict_self\(\d+, 0\) += 0")
        self.assertRegex(before, r"prctl\(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, .*\) = 0")


def children_of(pid):
    return [int(word) for word in pathlib.Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


if __name__ == "__main__":
    unittest.main()
