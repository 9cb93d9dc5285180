# SPDX-License-Identifier: GPL-3.0-or-later
"""Compares solutions with true values for band_optimum_study.py."""
import numpy as np

from band_optimum_model import CENTRES, MEANS, POWERS, Band

MOST_DB, MOST_PHASE_DEG = 0.05, 0.1
# Weaker levels of the trade-off are not compared, because noise alone moves them by more than the limit: 10⁻⁵ of the driven channel moves a level of
# -55 dB by 0.05 dB, and the phase at -45 dB by 0.1°.
FAINT_DB, FAINT_PHASE_DB = -55.0, -45.0
COVERAGE = 1.96
FEW = 3.0  # A frequency is reported if its rms error exceeds this many stated uncertainties.
OTHER = {"sweep": MEANS, "pink": MEANS}  # the mean crosstalk of a third octave, which loses a part of its power
NAMES = ("equal", "least", "phase", "band_least", "band_equal", "contact_limit", "as_found", "recommended")


def rms(values):
    return float(np.sqrt(np.mean(np.square(values)))) if len(values) else float("nan")


def at_frequency(case, cartridge, f):
    """Noise and sweeps show the mean crosstalk of a third octave (docs/method.md). A tone has no width."""
    return Band(cartridge, [f], over=CENTRES if case.kind == "tones" else MEANS)


def over_band(case, cartridge, f, weighting):
    """Over a band, the power of each third octave counts."""
    return Band(cartridge, f, weighting, over=CENTRES if case.kind == "tones" else POWERS)


def within(band, solution):
    return [e["frequency_hz"] for e in solution["by_frequency"] if band["from_hz"] * 0.999 <= e["frequency_hz"] <= band["to_hz"] * 1.001]


class Errors:
    """Errors of one quantity with their uncertainties, and whether each interval holds."""

    def __init__(self):
        self.values, self.u, self.held = [], [], []

    def take(self, value, true, u, interval=None):
        low, high = interval or (value - COVERAGE * u, value + COVERAGE * u)
        self.values.append(value - true)
        self.u.append(u)
        self.held.append(bool(low <= true <= high))

    def rms(self):
        return rms(self.values)

    def text(self):
        if not self.values:
            return "none"
        ratios = np.abs(self.values) / np.maximum(self.u, 1e-12)
        return (f"rms {self.rms():.4f} deg (u {rms(self.u):.4f}, ratio {self.rms() / rms(self.u):.1f}), worst |e| {np.abs(self.values).max():.4f}, "
                f"worst |e|/u {ratios.max():.1f}, {100 * np.mean(self.held):.0f} % hold")


class Single:
    """The results of each frequency on its own."""

    def __init__(self, name):
        self.name, self.least, self.other, self.equal, self.answer = name, {}, {}, {}, Errors()

    def take(self, case, cartridge, solution):
        for entry in solution["by_frequency"]:
            f = entry["frequency_hz"]
            key = round(f)
            here = at_frequency(case, cartridge, f)
            self.least.setdefault(key, Errors()).take(entry["least_crosstalk_deg"], here.least_deg(), entry["u_least_crosstalk_deg"])
            if case.kind != "tones":
                other = Band(cartridge, [f], over=CENTRES)
                self.other.setdefault(key, Errors()).take(entry["least_crosstalk_deg"], other.least_deg(), entry["u_least_crosstalk_deg"])
            if entry["equal_crosstalk_deg"] is not None and (true := here.equal_deg()) is not None:
                self.equal.setdefault(key, Errors()).take(entry["equal_crosstalk_deg"], true, entry["u_equal_crosstalk_deg"])
        found = solution["least_crosstalk"]
        self.answer.take(found["tilt_deg"], at_frequency(case, cartridge, solution["frequency_hz"]).least_deg(), found["u_deg"], found["interval95_deg"])

    def show(self):
        print(f"\n{self.name}: least crosstalk at the answered frequency: {self.answer.text()}")
        print("  Hz: rms error, rms u and their ratio of least crosstalk, % of intervals that hold | rms error against the other definition "
              "(at the centre) | rms error and rms u of equal crosstalk, % that hold")
        for f, errors in sorted(self.least.items()):
            ratio = errors.rms() / max(rms(errors.u), 1e-12)
            other, equal = self.other.get(f), self.equal.get(f)
            text = f"  {f:6d}: {errors.rms():.4f} {rms(errors.u):.4f} {ratio:4.1f} {100 * np.mean(errors.held):4.0f} %"
            text += f" | {other.rms():.4f}" if other else " | -"
            text += f" | {equal.rms():.4f} {rms(equal.u):.4f} {100 * np.mean(equal.held):3.0f} % of {len(equal.held)}" if equal else " | -"
            print(text + (f"  DISAGREES: more than {FEW:g} uncertainties" if ratio > FEW else ""))
        every = [e for errors in self.least.values() for e in errors.held]
        print(f"  all frequencies: {100 * np.mean(every):.1f} % of {len(every)} intervals of least crosstalk hold", flush=True)


class Row:
    """The results over the band for one variant and one way to weight it."""

    def __init__(self, name):
        self.name, self.sessions, self.faults = name, 0, []
        self.errors = {name: Errors() for name in ("least", "equal", "least from single")}
        self.other, self.other_name, self.other_db = {"least": [], "equal": []}, None, []
        self.totals_db, self.worst_db, self.not_determined = [], [], 0

    def fault(self, case, text):
        self.faults.append(f"{self.name}, seed {case.seed}: {text}")

    def take(self, case, cartridge, solution):
        band = solution["band"]
        f = within(band, solution)
        if band["frequencies"] != len(f):
            self.fault(case, f"{band['frequencies']} frequencies are stated, but {len(f)} lie within the band")
        if band["weighting"] != ("a" if ", a" in self.name[-3:] else "flat"):
            self.fault(case, f"the weighting is {band['weighting']}")
        self.sessions += 1
        true = over_band(case, cartridge, f, band["weighting"])
        least_deg, equal_deg = true.least_deg(), true.equal_deg()
        found, equal = band["least"], band["equal"]
        self.errors["least"].take(found["tilt_deg"], least_deg, found["u_deg"], found["interval95_deg"])
        if not equal["determined"]:
            self.not_determined += 1
        elif equal_deg is None:
            self.fault(case, "equal crosstalk is stated to be determined, but no tilt has it")
        else:
            self.errors["equal"].take(equal["tilt_deg"], equal_deg, equal["u_deg"], equal["interval95_deg"])
        single_deg = at_frequency(case, cartridge, solution["frequency_hz"]).least_deg()
        self.errors["least from single"].take(band["least_from_single_deg"], least_deg - single_deg, band["u_least_from_single_deg"])
        if case.kind in OTHER:
            self.take_other(band, Band(cartridge, f, band["weighting"], over=OTHER[case.kind]))
        self.take_levels(solution, true, f, least_deg)

    def take_other(self, band, other):
        """Compares with another definition of the true value, which shows the cause of an error."""
        self.other_name = other.over
        self.other["least"].append(band["least"]["tilt_deg"] - other.least_deg())
        if band["equal"]["determined"] and (equal_deg := other.equal_deg()) is not None:
            self.other["equal"].append(band["equal"]["tilt_deg"] - equal_deg)
        self.other_db.append(band["total_db_at"]["band_least"] - other.total_db(other.least_deg()))

    def take_levels(self, solution, true, f, least_deg):
        band = solution["band"]
        offset = least_deg - band["least"]["tilt_deg"]  # This is the error of the gauge, which moves no level.
        tilts = {"recommended": solution["recommended"]["tilt_deg"] + offset, "band_least": least_deg}
        self.totals_db += [band["total_db_at"][name] - true.total_db(tilt) for name, tilt in tilts.items()]
        worst = int(np.argmin(np.abs(np.array(f) - band["worst"]["frequency_hz"])))
        self.worst_db += [band["worst"][f"db_at_{name}"] - true.totals_by_frequency_db(tilt)[worst] for name, tilt in tilts.items()]

    def show(self):
        print(f"\n{self.name}: {self.sessions} sessions")
        for name, errors in self.errors.items():
            print(f"  {name}: {errors.text()}" + (f", {self.not_determined} not determined" if name == "equal" and self.not_determined else ""))
        if self.other_name:
            print(f"  against {self.other_name}, which are not the true values: least rms {rms(self.other['least']):.4f} deg, "
                  f"equal rms {rms(self.other['equal']):.4f} deg, total at least worst {np.abs(self.other_db).max():.3f} dB")
        print(f"  totals over the band: worst error {np.abs(self.totals_db).max():.3f} dB; at the worst frequency "
              f"{np.abs(self.worst_db).max():.3f} dB", flush=True)


class TradeOff:
    """Levels, phases and balance of the rows of the trade-off, against the model at the tilt of the row."""

    def __init__(self):
        self.db, self.phase_deg, self.balance_db, self.band_db, self.faults, self.rows, self.faint = [], [], [], [], [], 0, 0

    def take(self, where, case, cartridge, solution):
        here = at_frequency(case, cartridge, solution["frequency_hz"])
        # With errors of the gauge, tilts count from a zero that is off. Levels do not move with it, so tilts are compared from least crosstalk.
        offset = here.least_deg() - solution["least_crosstalk"]["tilt_deg"] if case.gauge_deg else 0.0
        band = solution["band"]
        f = within(band, solution)
        over = over_band(case, cartridge, f, band["weighting"])
        for row in solution["trade_off"]:
            name = f"{where}, {row['name']}"
            if row["name"] not in NAMES:
                self.faults.append(f"{name}: this is not the name of a row")
            if row["tilt_deg"] is None:
                continue
            self.rows += 1
            tilt = row["tilt_deg"] + offset
            self.levels(name, row, here, tilt)
            self.phase(name, row, here, tilt)
            self.balance(name, row, cartridge, solution["frequency_hz"], tilt)
            if row["band_total_db"] is not None:
                self.band_db.append((abs(row["band_total_db"] - over.total_db(tilt)), name))
        for name in ("band_least", "band_equal"):
            wanted = band[name.removeprefix("band_")]["tilt_deg"]
            rows = [r["tilt_deg"] for r in solution["trade_off"] if r["name"] == name]
            if wanted is not None and (len(rows) != 1 or abs(rows[0] - wanted) > 1e-6):
                self.faults.append(f"{where}: the trade-off has {name} at {rows}, and band has {wanted}")

    def levels(self, name, row, here, tilt):
        rl, lr = (10 * np.log10(p) for p in here.powers(tilt))
        self.db.append((abs(row["total_db"] - here.total_db(tilt)), f"{name}, total_db"))
        if min(rl, lr) < FAINT_DB:
            self.faint += 1
            return
        for key, true in (("right_into_left_db", rl), ("left_into_right_db", lr), ("difference_db", rl - lr)):
            self.db.append((abs(row[key] - true), f"{name}, {key}"))

    def phase(self, name, row, here, tilt):
        rl, lr = (x.mean() for x in here.own_at_points(tilt))
        if row["phase_difference_deg"] is not None and 20 * np.log10(min(abs(rl), abs(lr))) > FAINT_PHASE_DB:
            off = row["phase_difference_deg"] - np.degrees(np.angle(rl / lr))
            self.phase_deg.append((abs((off + 180) % 360 - 180), name))

    def balance(self, name, row, cartridge, f, tilt):
        if row["balance_db"] is not None:
            out, gains = cartridge.outputs(np.array([f]), tilt), cartridge.gains(f)
            true = 20 * np.log10(abs(gains[0] * out[0][0][0] / (gains[1] * out[1][1][0])))
            self.balance_db.append((abs(row["balance_db"] - true), name))

    def show(self, most_db, most_phase_deg):
        """Prints the errors and returns the faults."""
        print(f"\ntrade-off: {self.rows} rows, single directions of {self.faint} rows are below {FAINT_DB:g} dB and were not compared")
        faults = list(self.faults)
        for what, found, most, unit in (("levels", self.db, most_db, "dB"), ("phase differences", self.phase_deg, most_phase_deg, "deg"),
                                        ("totals over the band", self.band_db, most_db, "dB"), ("balance", self.balance_db, None, "dB")):
            if not found:
                print(f"  {what}: none")
                continue
            errors = np.array([e for e, _ in found])
            worst = max(found)
            print(f"  {what}: {len(errors)}, rms error {rms(errors):.4f} {unit}, worst {worst[0]:.4f} {unit} ({worst[1]})")
            beyond = int(np.sum(errors > most)) if most else 0
            if beyond:
                faults.append(f"trade-off: {beyond} {what} are off by more than {most} {unit}, the worst by {worst[0]:.3f} {unit}: {worst[1]}")
        return faults
