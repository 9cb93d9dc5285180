#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Solves a session folder independently of the project's program: SciPy cross-spectra of its WAV files and one joint least-squares fit by SciPy.

session_twin.py FOLDER   prints JSON: least and equal crosstalk (true degrees) and their standard uncertainties

It is written from the physics alone: the response of two generator axes, turned by the tilt, to two groove walls; complex same-passage ratios; a warp
locked to the groove; a complex gain ratio that levels, a lateral band and the tilt response all determine. It accepts sessions with bands left, right,
lateral and a log in degrees, and does not handle wiring faults or wrong entries.
"""
import csv
import json
import pathlib
import sys

import numpy as np
import scipy.io.wavfile
import scipy.optimize
import scipy.signal

REVOLUTION_S = 1.8
FRAME, OVERLAP = 2048, 1536
BLOCK_S = 0.15  # frames further apart have independent errors
CUT_LEVEL_U_DB, SCALE_U, PHASE_U_DEG, BEND_U_DEG = 0.3, 0.02, 0.2, 1.2  # assumed, not read from the session


def read(path):
    rate, x = scipy.io.wavfile.read(path)
    return rate, x.astype(float) / (2.0 ** 31 if x.dtype == np.int32 else 2.0 ** 15 if x.dtype == np.int16 else 1.0)


def cross_spectra(x, rate):
    """Returns the frames' times, and S_LL, S_RR and S_RL = R·conj(L), summed over the tone's main lobe."""
    hz, density = scipy.signal.welch(x.sum(axis=1), rate, nperseg=65536)
    audible = (hz > 250) & (hz < 6000)
    tone = hz[audible][np.argmax(density[audible])]
    f, t, left = scipy.signal.stft(x[:, 0], rate, nperseg=FRAME, noverlap=OVERLAP, boundary=None)
    _, _, right = scipy.signal.stft(x[:, 1], rate, nperseg=FRAME, noverlap=OVERLAP, boundary=None)
    lobe = np.abs(f - tone) < 2.1 * rate / FRAME
    left, right = left[lobe], right[lobe]
    return t, (np.abs(left) ** 2).sum(0), (np.abs(right) ** 2).sum(0), (right * left.conj()).sum(0)


def passages(t, ll, rr):
    """Returns the slices of frames in which the left channel, the right one and both are driven."""
    loud = np.maximum(ll, rr) > 0.1 * np.quantile(np.maximum(ll, rr), 0.8)
    found = {}
    edges = np.flatnonzero(np.diff(np.r_[0, loud.astype(int), 0]))
    for first, last in zip(edges[::2], edges[1::2]):
        if t[last - 1] - t[first] < 1.0:
            continue
        margin = int(np.ceil(0.12 / (t[1] - t[0])))
        s = slice(first + margin, last - margin)
        difference_db = 10 * np.log10(np.median(ll[s]) / np.median(rr[s]))
        found["left" if difference_db > 8 else "right" if difference_db < -8 else "both"] = s
    return found


def ratio(t, power, cross):
    """Returns the same-passage ratio corrected for warp, from a robust fit over frames, and its covariance, from sums over blocks of frames."""
    q = cross / power
    w = 2 * np.pi * (t - t.mean()) / REVOLUTION_S
    a = np.c_[np.ones_like(t), np.cos(w), np.sin(w), np.cos(2 * w), np.sin(2 * w)]
    n = a.shape[1]

    def off(p):
        r = q - a @ (p[:n] + 1j * p[n:])
        return np.r_[r.real, r.imag]

    plain = np.linalg.lstsq(a, q, rcond=None)[0]
    start = np.r_[plain.real, plain.imag]
    spread = 1.4826 * np.median(np.abs(off(start)))
    for _ in range(2):
        fit = scipy.optimize.least_squares(off, start, loss="cauchy", f_scale=3 * spread, x_scale=spread, xtol=1e-14, ftol=1e-14, gtol=1e-14)
        start, spread = fit.x, 1.4826 * np.median(np.abs(off(fit.x)))
    r = off(start).reshape(2, -1)
    weight = 1 / (1 + (r / (3 * spread)) ** 2)
    pull = np.linalg.pinv(a)[0] * weight * r / weight.mean()
    block = ((t - t[0]) / BLOCK_S).astype(int)
    sums = np.array([[p[block == b].sum() for b in range(block.max() + 1)] for p in pull])
    covariance = sums @ sums.T * sums.shape[1] / (sums.shape[1] - n)
    return start[0] + 1j * start[n], covariance


def reading(path):
    rate, x = read(path)
    t, ll, rr, rl = cross_spectra(x, rate)
    s = passages(t, ll, rr)
    left, right, both = s["left"], s["right"], s["both"]
    return {
        "lr": ratio(t[left], ll[left], rl[left]),
        "rl": ratio(t[right], rr[right], rl[right].conj()),
        "ln_levels": 0.5 * (np.log(np.median(ll[left])) - np.log(np.median(rr[right]))),
        "phase": np.angle(np.median((rl[both].conj() / rr[both]).real) + 1j * np.median((rl[both].conj() / rr[both]).imag)),
    }


def leaks(phi, p):
    """Returns the gain-free crosstalk (right into left, left into right). p: complex errors of the two generator axes, bend of the cuts."""
    dl, dr, kappa = p[0] + 1j * p[1], p[2] + 1j * p[3], p[4]
    return (np.sin(phi + dl + kappa) / np.cos(phi + dr + kappa), -np.sin(phi + dr - kappa) / np.cos(phi + dl - kappa))


def least_tilt(p):
    power = lambda phi: sum(abs(x) ** 2 for x in leaks(phi, p))
    return scipy.optimize.minimize_scalar(power, bracket=(-0.1 - (p[0] + p[2]) / 2, 0.1 - (p[0] + p[2]) / 2), tol=1e-12).x


def equal_tilt(p):
    least = least_tilt(p)
    difference = lambda phi: abs(leaks(phi, p)[0]) ** 2 - abs(leaks(phi, p)[1]) ** 2
    grid = least + np.radians(np.arange(-6, 6.001, 0.02))
    values = difference(grid)
    cross = np.flatnonzero(values[:-1] * values[1:] < 0)
    roots = [scipy.optimize.brentq(difference, grid[i], grid[i + 1], xtol=1e-14) for i in cross]
    return min(roots, key=lambda r: abs(r - least)) if roots else None


def joint_fit(logged, readings, gauge_u):
    """Fits all readings together. The unknowns are p (5), ln|β|, arg β, cut level, scale k, and each setting's error."""
    roots = [{k: np.linalg.inv(np.linalg.cholesky(r[k][1])) for k in ("rl", "lr")} for r in readings]

    def rows(u):
        p, gain, cut, k, e = u[:5], np.exp(u[5] + 1j * u[6]), u[7], u[8], u[9:]
        out = [p[4] / np.radians(BEND_U_DEG), cut / (CUT_LEVEL_U_DB * np.log(10) / 20), (k - 1) / SCALE_U]
        for i, r in enumerate(readings):
            phi = k * logged[i] + e[i]
            x_rl, x_lr = leaks(phi, p)
            for key, seen, model in (("rl", r["rl"][0], gain * x_rl), ("lr", r["lr"][0], x_lr / gain)):
                z = seen - model
                out += list(roots[i][key] @ [z.real, z.imag])
            ln_balance = np.log(abs(np.cos(phi + p[0] + 1j * p[1] - p[4]) / np.cos(phi + p[2] + 1j * p[3] + p[4])))
            out.append((r["ln_levels"] - u[5] - cut - ln_balance) / 1e-4)
            both = gain * (1 + x_rl) / (1 + x_lr)
            out.append(np.angle(np.exp(1j * r["phase"]) / both * abs(both)) / np.radians(PHASE_U_DEG))
            out.append(e[i] / gauge_u)
        return np.array(out)

    slope_rl = np.polyfit(logged, [r["rl"][0] for r in readings], 1)
    slope_lr = np.polyfit(logged, [r["lr"][0] for r in readings], 1)
    gain = np.sqrt(-slope_rl[0] / slope_lr[0])
    gain = gain if abs(np.angle(gain / np.exp(1j * readings[0]["phase"]))) < np.pi / 2 else -gain
    dl, dr = slope_rl[1] / gain, -slope_lr[1] * gain
    start = np.r_[dl.real, dl.imag, dr.real, dr.imag, 0, np.log(abs(gain)), np.angle(gain), 0, 1, np.zeros(len(logged))]
    # Each unknown has its own scale; otherwise the stopping rules mean little.
    scale = np.r_[np.full(5, 1e-3), 1e-3, 1e-3, 1e-2, 1e-2, np.full(len(logged), max(gauge_u, 1e-6))]
    return scipy.optimize.least_squares(rows, start, x_scale=scale, method="lm", xtol=1e-14, ftol=1e-14, gtol=1e-14)


def standard_uncertainty(tilt, fit):
    steps = 1e-6
    slope = np.zeros(fit.x.size)
    for i in range(5):
        up, down = fit.x.copy(), fit.x.copy()
        up[i] += steps
        down[i] -= steps
        slope[i] = (tilt(up[:5]) - tilt(down[:5])) / (2 * steps)
    r = np.linalg.qr(fit.jac, mode="r")
    return float(np.linalg.norm(np.linalg.solve(r.T, slope)))


def twin(folder):
    folder = pathlib.Path(folder)
    facts = json.loads((folder / "session.json").read_text())
    with open(folder / "steps.csv", newline="") as f:
        log = [row for row in csv.DictReader(f)]
    logged = np.radians([float(row["tilt_deg"]) for row in log])
    readings = [reading(folder / row["capture"]) for row in log]
    stated = facts.get("gauge_u_deg")
    gauge_u = max(np.radians(stated or 0), 1e-7) if stated is not None else 1e-7
    fit = joint_fit(logged, readings, gauge_u)
    if stated is None:  # estimated from the scatter of the tilts by the signal about their line
        free = joint_fit(logged, readings, np.radians(1.0)).x
        turned = free[8] * logged + free[9:]
        left = turned - np.polyval(np.polyfit(logged, turned, 1), logged)
        gauge_u = max(np.sqrt((left ** 2).sum() / (len(logged) - 2)), 1e-7)
        fit = joint_fit(logged, readings, gauge_u)
    out = {"least_deg": float(np.degrees(least_tilt(fit.x[:5]))), "u_least_deg": np.degrees(standard_uncertainty(least_tilt, fit))}
    equal = equal_tilt(fit.x[:5])
    out["equal_deg"] = None if equal is None else float(np.degrees(equal))
    if equal is not None:
        out["u_equal_deg"] = np.degrees(standard_uncertainty(equal_tilt, fit))
    return out


if __name__ == "__main__":
    print(json.dumps(twin(sys.argv[1])))
