# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads the commands and their options from the output of --help."""
import re
import subprocess

COMMANDS = ("measure", "solve", "calibrate", "survey", "report", "simulate", "new", "watch")


def options_of(program, command=None):
    """{option: name of its value or ""}; -h and --help are two options."""
    told = subprocess.run([program, *([command] if command else []), "--help"], capture_output=True, text=True, check=True).stdout
    found = {}
    for names, value in re.findall(r"^ {2}(-[-\w,]+)(?: ([A-Z]+)\b(?!:))?", told.split("Options:")[1], re.M):
        for name in names.split(","):
            found[name] = value
    return found


def commands_of(program):
    told = subprocess.run([program, "--help"], capture_output=True, text=True, check=True).stdout
    return set(re.findall(r"^ {2}(\w+) ", told.split("Subcommands:")[1], re.M))
