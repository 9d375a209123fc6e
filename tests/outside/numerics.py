#!/usr/bin/env python3
"""A second opinion on numbers: numpy and scipy against what the program works out.

Three parts. Weighted fits: random bench points through `ohmwarden calibrate`, against numpy's
polyfit with the same weights and an unscaled covariance. Sums: random codes through the exact
integer sums of core, against Python's whole numbers, to the bit, and numpy's mean and deviation.
Exponentials: traces of `ohmwarden run`, fitted by scipy, against the time constants that the parts
of the circuit have on paper.

Usage: numerics.py PROGRAM SUMS. Exit: 0 all held, 1 something did not.
"""
import csv
import json
import math
import pathlib
import subprocess
import sys
import tempfile

import numpy as np
from scipy.optimize import curve_fit
from scipy.stats import chi2

failures = []
checks = 0
worst = {}


def check(held, text):
    """Counts a check and keeps what failed."""
    global checks
    checks += 1
    if not held:
        failures.append(text)


def near(group, what, got, known, tolerance):
    """Checks a number by its relative distance and remembers the largest of its group."""
    off = abs(got - known) / abs(known) if known else abs(got)
    worst[group] = max(worst.get(group, 0.0), off)
    check(off <= tolerance, f"{group}, {what}: {got} for {known}")


def weighted_fits(program, _, folder, random):
    """Two hundred scales of random points."""
    squares, freedom = 0.0, 0
    for number in range(200):
        count = int(random.integers(3, 30))
        gain, zero = random.uniform(-0.02, 0.02), random.uniform(-1.5, 1.5)
        reference = np.concatenate([[0.0, 1000.0], random.uniform(-1000, 1000, count - 2)])
        given = 10.0 ** random.uniform(-2, 0, count)
        # The program adds the resolution of 0.75 V, one reading a point.
        doubt = np.hypot(given, 0.75 / math.sqrt(12))
        read = reference / (1 + gain) + zero * 0.75 + random.normal(0, doubt)
        lines = [f"voltage,{a!r},{b!r},{c!r}" for a, b, c in
                 zip(reference.tolist(), given.tolist(), read.tolist())]
        table = folder / "points.csv"
        table.write_text("channel,reference,uncertainty,read\n" + "\n".join(lines) + "\n")
        done = subprocess.run([program, "calibrate", table, "--format", "json"],
                              capture_output=True, text=True)
        check(done.returncode in (0, 1), f"fit {number}: exit {done.returncode} {done.stderr}")
        told = json.loads(done.stdout)["scales"][0]
        (slope, intercept), covariance = np.polyfit(read, reference, 1, w=1 / doubt,
                                                    cov="unscaled")
        near("slope", number, told["slope"], slope, 1e-12)
        check(abs(told["intercept"] - intercept) <= 1e-10 * math.sqrt(covariance[1, 1]),
              f"intercept {number}: {told['intercept']} for {intercept}")
        near("u_slope", number, told["u_slope"], math.sqrt(covariance[0, 0]), 1e-12)
        near("u_intercept", number, told["u_intercept"], math.sqrt(covariance[1, 1]), 1e-12)
        check(abs(told["covariance"] - covariance[0, 1]) <= 1e-11 * math.sqrt(
            covariance[0, 0] * covariance[1, 1]), f"covariance {number}")
        residuals = (reference - intercept - slope * read) / doubt
        near("chi-square", number, told["chi_square"], float(residuals @ residuals), 1e-9)
        squares, freedom = squares + told["chi_square"], freedom + told["degrees_of_freedom"]
    # All together they are one chi-square: neither too small nor too large (one in a million).
    low, high = chi2.ppf([1e-6, 1 - 1e-6], freedom)
    check(low < squares < high, f"chi-square {squares} of {freedom} freedoms")


def exact_sums(_, sums, __, random):
    """Windows of every length and kind; whole numbers must agree to the last digit."""
    windows = [[-32768] * 1000, [32767, -32768] * 500, [0] * 7, [5]]
    for _ in range(400):
        length = int(10 ** random.uniform(0, 4))
        centre, spread = random.uniform(-3e4, 3e4), 10 ** random.uniform(-1, 4)
        codes = np.rint(random.normal(centre, spread, length)).clip(-32768, 32767)
        windows.append(codes.astype(int).tolist())
    text = "\n".join(" ".join(map(str, window)) for window in windows) + "\n"
    done = subprocess.run([sums], input=text, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    check(len(answers) == len(windows), f"{len(answers)} answers for {len(windows)} windows")
    for number, (codes, told) in enumerate(zip(windows, answers)):
        count, total = len(codes), sum(codes)
        squares = sum(code * code for code in codes)
        exact = {"samples": count, "sum": total, "squares": squares,
                 "min": min(codes) << 16, "max": max(codes) << 16,
                 "dc": int(math.copysign((abs(total) * 65536 * 2 + count) // (2 * count), total))}
        for key, value in exact.items():
            check(told[key] == value, f"window {number} {key}: {told[key]} for {value}")
        # The root is taken of the exact difference; one of 65 536 parts of a code is left.
        root = math.isqrt((count * squares - total * total) << 32) / count
        check(abs(told["ac"] - root) <= 1.5, f"window {number} ac: {told['ac']} for {root}")
        if root > 65536:
            near("deviation", number, told["ac"] / 65536, float(np.std(codes)), 2e-5)


def trace(program, folder, text):
    """The trace of a scenario: time, terminal voltage, lead current, discharging."""
    file, out = folder / "case.toml", folder / "out"
    file.write_text(text)
    subprocess.run([program, "run", "--out", out, file], check=True, capture_output=True)
    with open(next(out.rglob("trace.csv")), newline="") as rows:
        rows = list(csv.DictReader(rows))
    keys = ("time (s)", "terminals (V)", "leads (A)", "discharge_on")
    return [np.array([float(row[key]) for row in rows]) for key in keys]


CASE = """ohmwarden = 1
why = "A circuit with one time constant."
seconds = {seconds}
[start]
function = "insulation"
volts = {volts}
[[at]]
s = 0.6
press = "test"
[[at]]
s = {release}
release = "test"
"""


def exponentials(program, _, folder, __):
    """Decay through the discharge resistor, and the current of one branch of absorption."""
    for volts, farads in [(1000, 2.0e-6), (500, 1.0e-6), (250, 4.7e-7)]:
        case = CASE.format(seconds=7, volts=volts, release=4.5)
        case += f'[part.cable.capacitor]\nfarads = {farads}\nacross = ["lead.pos", "lead.neg"]\n'
        time, v, _, on = trace(program, folder, case)
        part = (time > 4.5) & (on > 0) & (v < 0.9 * volts) & (v > 0.05 * volts)
        (_, tau), _ = curve_fit(lambda t, a, tau: a * np.exp(-t / tau), time[part] - 4.5, v[part],
                                p0=(volts, 0.1))
        # 100 kohm beside two dividers of 4 Mohm and a bleed of 100 Mohm; 5 nF beside the load.
        known = 1 / (1 / 100e3 + 1 / 2e6 + 1 / 100e6) * (farads + 5e-9)
        near("decay", f"{volts} V {farads} F", tau, known, 1e-4)
    for ohms, farads in [(4e6, 1e-7), (2e7, 1e-8), (1e7, 5e-8)]:
        case = CASE.format(seconds=4, volts=500, release=3.5)
        case += f'[part.slow.resistor]\nohms = {ohms}\nacross = ["lead.pos", "inside"]\n'
        case += f'[part.store.capacitor]\nfarads = {farads}\nacross = ["inside", "lead.neg"]\n'
        case += '[part.leak.resistor]\nohms = 1e9\nacross = ["lead.pos", "lead.neg"]\n'
        time, v, i, _ = trace(program, folder, case)
        start = time[np.argmax(v > 499.5)] + 0.02
        part = (time > start) & (time < start + 1.4)
        fit = lambda t, a, tau, leak: a * np.exp(-t / tau) + leak
        (_, tau, leak), _ = curve_fit(fit, time[part] - start, i[part] * 1e6,
                                      p0=(i[part][0] * 1e6, 0.3, 0.1))
        near("absorption", f"{ohms} ohm {farads} F", tau, ohms * farads, 1e-3)
        near("leak", f"{ohms} ohm {farads} F", leak, 0.5, 1e-2)


def main():
    program, sums = (str(pathlib.Path(path).resolve()) for path in sys.argv[1:3])
    random = np.random.default_rng(1)
    with tempfile.TemporaryDirectory() as name:
        for part in [weighted_fits, exact_sums, exponentials]:
            part(program, sums, pathlib.Path(name), random)
    for failure in failures[:20]:
        print(f"FAILED {failure}")
    errors = ", ".join(f"{group} {error:.1e}" for group, error in sorted(worst.items()))
    print(f"{checks} checks, {len(failures)} failed; worst relative errors: {errors}")
    return 1 if failures or checks < 3000 else 0


if __name__ == "__main__":
    sys.exit(main())
