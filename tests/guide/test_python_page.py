"""The guide's page for Python programs runs as it is printed."""

import doctest
from importlib.resources import as_file, files
from pathlib import Path

import pytest

import apiarybook


def test_the_page_runs_as_printed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with as_file(files("apiarybook.guide").joinpath("python.md")) as page:
        failed, tried = doctest.testfile(str(page), module_relative=False, optionflags=doctest.NORMALIZE_WHITESPACE)
    assert (failed, tried > 10) == (0, True)


@pytest.mark.parametrize("name", apiarybook.__all__)
def test_everything_offered_is_there_and_teaches(name: str) -> None:
    assert name in dir(apiarybook)
    assert getattr(apiarybook, name).__doc__


def test_what_is_not_offered_is_said() -> None:
    with pytest.raises(AttributeError, match="it offers"):
        apiarybook.wanted  # noqa: B018 asking is the test
