"""The readme: the job first, and commands that a newcomer pastes whole and the continuous check runs to the letter."""

from __future__ import annotations

import re
import subprocess
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TEXT = (ROOT / "README.md").read_text(encoding="utf-8")
COMMANDS = dict(re.findall(r"^<!-- ([a-z ]+) -->\n```sh\n(.*?)\n```$", TEXT, re.MULTILINE | re.DOTALL))


def test_the_job_stands_first_in_one_paragraph():
    first, second = TEXT.split("\n\n")[:2]
    assert not first.startswith("#")
    assert "\n" not in first
    assert len(first.split()) < 120
    assert second == "# Stowfold"


def test_the_continuous_check_runs_every_marked_command():
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert set(re.findall(r'readme_command "([a-z ]+)"', script)) == set(COMMANDS)
    assert set(COMMANDS) == {"system libraries", "main job", "tests"}


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_is_one_line_that_a_shell_can_read(name):
    assert "\n" not in COMMANDS[name]
    result = subprocess.run(["bash", "-n", "-c", COMMANDS[name]], capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stderr


@pytest.mark.parametrize("name", ["main job", "tests"])
def test_a_command_is_complete_from_the_environment_on(name):
    steps = COMMANDS[name].split(" && ")
    assert steps[0] == "python3 -m venv .venv"
    extras = re.search(r"\.\[([a-z,]+)\]", steps[1])[1].split(",")
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert set(extras) <= set(project["optional-dependencies"])
    assert steps[2].startswith(".venv/bin/")


def test_the_sample_that_is_cut_is_there():
    (sample,) = re.findall(r"\S+\.blend\b", COMMANDS["main job"])
    assert (ROOT / sample).is_file()


def test_every_local_link_and_picture_is_there():
    targets = re.findall(r"\]\(([^)#]+)\)", TEXT)
    assert targets
    assert not [target for target in targets if "://" not in target and not (ROOT / target).exists()]


def test_the_host_sentence_names_the_same_system_libraries():
    named = set(re.findall(r"\blib[a-z0-9]+(?:-\d+)?\b", COMMANDS["system libraries"]))
    source = (ROOT / "addon" / "command_line" / "opening.py").read_text(encoding="utf-8")
    assert len(named) == 10
    assert named <= set(re.findall(r"\blib[a-z0-9]+(?:-\d+)?\b", source))
