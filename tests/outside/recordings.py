#!/usr/bin/env python3
"""Measures published recordings with `ohmwarden measure` and compares with what is known of them.

The recordings come from Python packages, fetched when this runs and never kept: those of
pyComtrade are GPLv3, those of comtrade and pqopen-lib MIT. Every file used is checked by its
sha256. Two oracles: values worked out beforehand, and sums formed here with Python's exact
integers by a small reader of the same raw bytes.

Usage: recordings.py [PROGRAM]; without it the program is built first.
Exit: 0 all held, 1 something did not. Where the packages cannot be fetched it says SKIPPED and exits
with 0, or with 1 if CI=true.
"""
import hashlib
import json
import math
import os
import pathlib
import shutil
import struct
import subprocess
import sys
import tarfile
import tempfile
import zipfile

PACKAGES = [
    ("pyComtrade==0.2.0", "pyComtrade-0.2.0.zip",
     "85e40c1586aa091241795320d1cfdfb411cf5013d2fdc18dab893394b8596bd9"),
    ("comtrade==0.2.0", "comtrade-0.2.0.tar.gz",
     "cacf63cec280418d5f373752c42557ef796736b803383ac9f0f79eabceb39503"),
    ("pqopen-lib==0.10.5", "pqopen_lib-0.10.5.tar.gz",
     "eef77bc1b37433b78b4a65a501a30c76f21cda283b3ca4e333d2d78f5c975c70"),
]
FILES = {
    "test1.cfg": "b04ae8d3ca56f8ac08534dd1fca9f33d13d00355c89f02ebd246f9860927a7c2",
    "test1.dat": "d6c88dd2d72dffea2f26cba376d8be5289ad888a80e55e4675cc70957c83a8bf",
    "test2.cfg": "9a98c4b866ff70924921a03016a1bc33dd2822a66c98b76d2bba2eb5c52fcbc7",
    "test2.dat": "1084d2a3c46fdd03225be9d656a79b23f7c26c1b0f45e1964518d8daf35d2001",
    "test3.cfg": "102a799f02171c5ed8fd1fce6f054c60d7292a719cb0dbf467d4801d372e6def",
    "test3.dat": "4dd81b74d2820809806cf3288438d347b1ba6e7471b685b691180b2f251f22cd",
}
# 200 ms: 10 cycles of 50 Hz, 12 of 60 Hz. Values as printed when they were worked out (plain
# Python, value = a * raw + b); file, channel, first sample, rms, mean, greatest, least.
WINDOW = 1152
KNOWN = [
    ("test1", "VA_G1", 0, "3.483375", "-0.006320", "4.937781", "-4.943211"),
    ("test1", "VA_G1", 14976, "5.221681", "-0.009513", "7.415156", "-7.426016"),
    ("test1", "IA_G1", 0, "1348.1627", "0.6999", "1919.862", "-1917.404"),
    ("test2", "VA_GC1", 0, "7.565715", "-0.004596", "10.661664", "-10.696848"),
    ("test2", "VDC_G1", 0, "59.587355", "59.583649", "61.094552", "58.123287"),
]
# By zero crossing over the first second.
KNOWN_HERTZ = [("test1", "VA_G1", 49.989), ("test2", "VA_GC1", 60.022), ("test3", "VA_G1", 49.989)]
RELATIVE = 1e-5

failures = []
checks = 0
worst = {}


def check(held, text):
    """Counts a check and keeps what failed."""
    global checks
    checks += 1
    if not held:
        failures.append(text)


def near(what, read, known, tolerance, group=None):
    """Checks a reading, and remembers the largest relative error of its group."""
    check(abs(read - known) <= tolerance, f"{what}: {read} for {known} (+-{tolerance:g})")
    if group and known:
        worst[group] = max(worst.get(group, 0.0), abs(read / known - 1))


def fetch(folder):
    """Fetches and unpacks the packages; False where that cannot be done."""
    for name, archive, digest in PACKAGES:
        command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps",
                   "--no-binary", ":all:", "--dest", str(folder), name]
        try:
            subprocess.run(command, check=True, timeout=300)
        except (OSError, subprocess.SubprocessError) as error:
            print(f"SKIPPED: needs {name} ({error})")
            return False
        path = folder / archive
        check(sha256(path) == digest, f"{archive}: another sha256")
        if archive.endswith(".zip"):
            zipfile.ZipFile(path).extractall(folder)
        else:
            tarfile.open(path).extractall(folder, filter="data")
    for name, digest in FILES.items():
        check(sha256(only(folder, name)) == digest, f"{name}: another sha256")
    return True


def sha256(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def only(folder, name):
    """The one file of that name."""
    found = sorted(folder.rglob(name))
    assert len(found) == 1, (name, found)
    return found[0]


def measure(program, path, *options):
    """The readings of a file, by channel and first sample."""
    command = [program, "measure", str(path), "--format", "json", *map(str, options)]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    answer = json.loads(done.stdout)["files"][0]
    readings = {}
    for channel in answer["channels"]:
        for reading in channel["readings"]:
            reading["codes"] = channel["quantisation"]["codes"]
            readings[channel["name"], reading["first_sample"]] = reading
    return readings


def known_values(program, folder):
    """The values worked out beforehand."""
    for file, name, first, rms, mean, greatest, least in KNOWN:
        path = only(folder, f"{file}.cfg")
        options = ("--column", name, "--from", first, "--samples", WINDOW)
        reading = measure(program, path, *options)[name, first]
        check(reading["codes"] == "as_recorded", f"{file} {name}: codes not as recorded")
        for key, text in [("rms", rms), ("dc", mean), ("max", greatest), ("min", least)]:
            half_digit = 0.5001 * 10.0 ** -len(text.partition(".")[2])
            tolerance = max(RELATIVE * abs(float(text)), half_digit)
            near(f"{file} {name} {first} {key}", reading[key], float(text), tolerance)
    for file, name, hertz in KNOWN_HERTZ:
        path = only(folder, f"{file}.cfg")
        reading = measure(program, path, "--column", name, "--samples", 5760)[name, 0]
        near(f"{file} {name} hertz", reading["frequency_hz"], hertz, 0.002, "frequency")


def raw_channels(path):
    """Name, a, b and raw values of every analogue channel of a 16-bit recording."""
    lines = path.read_bytes().decode("latin-1").splitlines()
    _, analogue, status = lines[1].split(",")
    analogue, status = int(analogue.strip()[:-1]), int(status.strip()[:-1])
    heads = [line.split(",") for line in lines[2:2 + analogue]]
    samples = int(lines[2 + analogue + status + 2].split(",")[1])
    words = (status + 15) // 16
    record = struct.Struct(f"<II{analogue}h{words}H")
    data = path.with_suffix(".dat").read_bytes()
    rows = list(record.iter_unpack(data[:record.size * samples]))
    return [(head[1].strip(), float(head[5]), float(head[6]), [row[2 + at] for row in rows])
            for at, head in enumerate(heads)]


def every_channel(program, folder):
    """Every channel of every 16-bit recording against exact sums formed here."""
    for file in ["test1.cfg", "test2.cfg", "test3.cfg"]:
        path = only(folder, file)
        channels = raw_channels(path)
        length = len(channels[0][3])
        for first in (0, 14976 if length > 20000 else 9000):
            readings = measure(program, path, "--from", first, "--samples", WINDOW)
            for name, a, b, raw in channels:
                codes = raw[first:first + WINDOW]
                compare(f"{file} {name} {first}", readings[name, first], a, b, codes)


def compare(what, reading, a, b, codes):
    """A reading against the sums of its codes; what is left is 1/65 536 of a code, doubled."""
    count, total, squares = len(codes), sum(codes), sum(code * code for code in codes)
    ac = abs(a) * math.sqrt(count * squares - total * total) / count
    dc = a * total / count + b
    grain = 2 * abs(a) / 65536 + 1e-12 * abs(dc)
    rms = math.hypot(ac, dc)
    near(f"{what} dc", reading["dc"], dc, grain)
    near(f"{what} ac", reading["ac"], ac, grain)
    near(f"{what} rms", reading["rms"], rms, grain, "rms" if rms > 100 * abs(a) else None)
    values = [a * code + b for code in codes]
    near(f"{what} max", reading["max"], max(values), grain)
    near(f"{what} min", reading["min"], min(values), grain)
    near(f"{what} peak", reading["peak"], max(map(abs, values)), grain)


def sample_layouts(program, folder):
    """The small samples: text in one file or two, Latin-1, floats, and a missing value."""
    base = measure(program, only(folder, "sample_ascii.cfg"))
    check(len(base) == 4, f"sample_ascii: {len(base)} channels")
    for name in ["sample_ascii.cff", "sample_iso8859-1.cfg"]:
        check(measure(program, only(folder, name)) == base, f"{name}: not as sample_ascii.cfg")
    config = only(folder, "sample_ascii.cfg")
    rows = [line.split(b",") for line in config.with_suffix(".dat").read_bytes().split()]
    compare("sample_ascii IA", base["IA", 0], 0.1138916015625, 0.05694580078125,
            [int(row[2]) for row in rows])
    data = only(folder, "sample_float32.cff").read_bytes()
    data = data[data.index(b"FLOAT32: 4214 ---\r\n") + 19:]
    values = [a * value + b for _, _, value, _ in struct.iter_unpack("<IIfH", data[:4214])
              for a, b in [(1.0, 0.0)]]
    reading = measure(program, only(folder, "sample_float32.cff"))["test/out1", 0]
    check(reading["samples"] == len(values) == 301, f"sample_float32: {reading}")
    rms = math.sqrt(sum(value * value for value in values) / len(values))
    near("sample_float32 rms", reading["rms"], rms, 1e-4 * rms)
    pair = folder / "missing.cfg"
    shutil.copy(config, pair)
    shutil.copy(only(folder, "sample_ascii_missing.dat"), pair.with_suffix(".dat"))
    done = subprocess.run([program, "measure", pair], capture_output=True, text=True)
    check(done.returncode == 2 and "no value of `IA` at sample 1" in done.stderr,
          f"missing: exit {done.returncode}, {done.stderr}")


def interruption(program, folder):
    """The mains interruption: one RMS value a row, each row a window of its own."""
    path = only(folder, "event_data_level_low.csv")
    lines = path.read_text().splitlines()
    rows = [float(line.split(",")[1]) for line in lines[1:]]
    check(len(rows) == 267, f"{len(rows)} rows")
    windows = [word for row in range(len(rows)) for word in ("--from", row)]
    readings = measure(program, path, "--rate", 50, "--samples", 1, *windows)
    read = [readings["U1_1p_rms", row]["dc"] for row in range(len(rows))]
    for row, (value, known) in enumerate(zip(read, rows)):
        near(f"row {row}", value, known, RELATIVE * known, "csv")
    low = [row for row, value in enumerate(read) if value < 207]
    check(low == list(range(109, 147)), f"below 207 V: {low}")
    near("row 109", read[109], 202.987, 0.0005)
    near("row 114", read[114], 0.09598, 0.000005)
    check(min(read) == read[114], f"the least is in row {read.index(min(read))}")
    near("row 147", read[147], 229.958, 0.0005)
    done = subprocess.run([program, "measure", path], capture_output=True, text=True)
    check(done.returncode == 2 and "even steps; or give --rate" in done.stderr,
          f"uneven steps: exit {done.returncode}, {done.stderr}")


def built():
    """Builds the program and says where it is."""
    root = pathlib.Path(__file__).resolve().parents[2]
    subprocess.run(["cargo", "build", "--quiet", "--package", "ohmwarden"], cwd=root, check=True)
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", root / "target"))
    return str(target / "debug" / "ohmwarden")


def main():
    program = sys.argv[1] if len(sys.argv) > 1 else built()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        if not fetch(folder):
            return 1 if os.environ.get("CI") == "true" else 0
        for part in [known_values, every_channel, sample_layouts, interruption]:
            part(program, folder)
    for failure in failures:
        print(f"FAILED {failure}")
    errors = ", ".join(f"{group} {error:.1e}" for group, error in sorted(worst.items()))
    print(f"{checks} checks, {len(failures)} failed; worst relative errors: {errors}")
    return 1 if failures or checks < 100 else 0


if __name__ == "__main__":
    sys.exit(main())
