"""``scoretools report`` on good scores: what it prints and what it writes."""

import csv
import json
from pathlib import Path
from typing import Any, NamedTuple
from xml.etree import ElementTree

import pytest
from typer.testing import CliRunner

from scoretools.cli.main import app
from tests_cli import SAMPLES, WRITTEN, Command

NOTES_COLUMNS = [
    "event", "movement", "measure", "measure_index", "rehearsal", "beat", "onset_ql",
    "duration_ql", "onset_s", "pitch", "midi", "string", "finger", "offset", "position",
    "first_offset", "gaps", "known", "certainty", "margin", "printed_finger", "printed_string",
    "passage",
]  # fmt: skip
