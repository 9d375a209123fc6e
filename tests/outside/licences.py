#!/usr/bin/env python3
"""Checks the licence of every dependency of the workspace against what may be shipped."""
import json
import subprocess
import sys

# Permissive ones; a choice (OR) needs one of them, a sum (AND) needs all.
ACCEPTED = {
    "0BSD", "Apache-2.0", "Apache-2.0 WITH LLVM-exception", "BSD-2-Clause", "BSD-3-Clause",
    "BSL-1.0", "CC0-1.0", "ISC", "MIT", "MIT-0", "Unicode-3.0", "Unlicense", "Zlib",
}


def accepted(expression):
    """Whether a licence expression can be met; parentheses as SPDX has them."""
    expression = expression.replace("/", " OR ").strip()
    depth, parts, last, operator = 0, [], 0, None
    for wanted in (" OR ", " AND "):
        depth, last, parts = 0, 0, []
        for at, letter in enumerate(expression):
            depth += (letter == "(") - (letter == ")")
            if depth == 0 and expression.startswith(wanted, at):
                parts.append(expression[last:at])
                last = at + len(wanted)
        if parts:
            operator = wanted
            parts.append(expression[last:])
            break
    if operator == " OR ":
        return any(accepted(part) for part in parts)
    if operator == " AND ":
        return all(accepted(part) for part in parts)
    if expression.startswith("(") and expression.endswith(")"):
        return accepted(expression[1:-1])
    return expression in ACCEPTED


def packages_of(manifest):
    """Every package that a workspace depends on."""
    found = subprocess.run(
        ["cargo", "metadata", "--format-version", "1", "--locked", "--manifest-path", manifest],
        check=True, capture_output=True, text=True,
    )
    return json.loads(found.stdout)["packages"]


def main():
    packages = packages_of("Cargo.toml") + packages_of("tests/firmware/Cargo.toml")
    bad = [(p["name"], p["version"], p["license"]) for p in packages
           if not p["license"] or not accepted(p["license"])]
    for name, version, licence in bad:
        print(f"{name} {version}: {licence or 'no licence named'}")
    print(f"{len(packages)} packages, {len(bad)} with a licence that is not accepted")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
