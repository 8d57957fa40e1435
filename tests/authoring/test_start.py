"""A new folder: from flags, from questions, from an example; it builds and says what is still to fill in."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from reportgen.authoring.schema import PLACE, modeline
from reportgen.authoring.start import (
    EXAMPLES,
    Answers,
    ArrayAnswer,
    BadAnswer,
    arrays_of,
    degrees_of,
    example,
    inverters_of,
    new_folder,
    pipe_of,
)
from reportgen.design.assemble import assemble
from reportgen.design.findings import Outcome
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.service.build import BuildOptions
from reportgen.service.build import run as build_run
from reportgen.service.folder_reader import take

from .test_commands import run

TWO = Answers(
    "Hill",
    36.1,
    -79.9,
    (ArrayAnswer("EAST", 2, 10), ArrayAnswer("WEST", 1, 9)),
    (("INV-1", 2),),
    ("PVC-40", "1-1/2", "60 m"),
)


def designed(files: dict[str, str]):
    project = load_project({name: text.encode() for name, text in files.items()})
    return assemble(project, load(str(project.project.rulebook)), "test")


@pytest.mark.parametrize("imperial", [False, True])
def test_a_new_folder_builds_and_nothing_that_needs_a_number_meets(imperial: bool) -> None:
    answers = Answers(**{name: getattr(TWO, name) for name in Answers.__slots__} | {"imperial": imperial})
    design = designed(new_folder(answers))
    assert not design.of(Outcome.FAILS)
    assert len(design.of(Outcome.UNKNOWN)) > 20
    for finding in design.findings:
        if finding.code.startswith(
            ("cold-", "hot-", "ampacity", "voltage-drop", "input-short", "input-usable")
        ):
            assert finding.outcome is Outcome.UNKNOWN, finding.id
    told = {item for finding in design.of(Outcome.UNKNOWN) for item in finding.missing}
    for wanted in ("module type M1", "maximum_dc_voltage", "building", "input of string WEST-1"):
        assert any(wanted in item for item in told), wanted


def test_every_file_teaches_and_names_the_schema() -> None:
    for name, text in new_folder(TWO).items():
        if name.endswith(".yaml"):
            assert text.splitlines()[0] == modeline()
            assert text.count("#") >= 3, name


def test_comments_are_in_the_units_asked_for() -> None:
    metric = "".join(new_folder(TWO).values())
    imperial = "".join(
        new_folder(
            Answers("Hill", None, None, TWO.arrays, TWO.inverters, ("EMT", "1", "90 ft"), True)
        ).values()
    )
    assert "degF" not in metric
    assert " ft" not in metric
    assert "degC" not in imperial
    assert not re.search(r"\d m?m\b", imperial)


@pytest.mark.parametrize(
    "line",
    [
        "# record_low:",
        "# mean_annual_minimum:",
        "# design_high:",
        "# ground_temperature:",
        "# elevation:",
        "# utc_offset:",
    ],
)
@pytest.mark.parametrize("imperial", [False, True])
def test_a_commented_line_can_be_taken_into_use(line: str, imperial: bool) -> None:
    files = new_folder(Answers("Hill", None, None, TWO.arrays, TWO.inverters, TWO.pipe, imperial))
    files["site.yaml"] = files["site.yaml"].replace(line, line.removeprefix("# "))
    site = load_project({name: text.encode() for name, text in files.items()}).site
    assert getattr(site, line.strip("# :")) is not None


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_holds_invented_makers_and_what_it_is_about(name: str) -> None:
    files = example(name)
    assert {".gitignore", ".gitattributes"} < set(files)
    project = load_project({file: text.encode() for file, text in files.items()})
    for kind in (*project.modules.values(), *project.inverters.values()):
        assert "(invented)" in str(kind.maker)
    assert "invented" in str(project.site.temperatures_from)


def test_every_example_is_listed_and_every_folder_is_an_example() -> None:
    import reportgen

    folders = {
        path.name for path in (Path(reportgen.__file__).parent / "examples").iterdir() if path.is_dir()
    }
    assert folders - {"__pycache__"} == set(EXAMPLES)


@pytest.mark.parametrize("name", EXAMPLES)
def test_init_copies_an_example_that_builds(name: str, tmp_path: Path) -> None:
    folder = tmp_path / "new"
    result = run("init", folder, "--example", name)
    assert result.exit_code == 0, result.output
    assert (folder / PLACE).is_file()
    assert "binder/" in (folder / ".gitignore").read_text()
    assert "eol=lf" in (folder / ".gitattributes").read_text()
    built = build_run(take(folder), BuildOptions(pdf=False))
    assert built.outputs["binder.html"]
    assert built.design is not None
    assert built.design.energy is not None
    assert built.design.energy.year is not None


def test_init_from_flags(tmp_path: Path) -> None:
    folder = tmp_path / "barn"
    result = run("init", folder, "--place", 'The "Barn"', "--arrays", "A=2x10,B=1x9", "--inverters", "X=3", "--pipe", "EMT 1 40 ft", "--units", "imperial", "--latitude", "-36.5")  # fmt: skip
    assert result.exit_code == 0, result.output
    project = load_project({path.name: path.read_bytes() for path in folder.glob("*.yaml")})
    assert project.site.place == 'The "Barn"'
    assert project.site.latitude is not None
    assert project.site.latitude.value == -36.5
    assert project.site.longitude is None
    assert [str(string.input) for string in project.strings.values()] == ["X/A", "X/B", "X/C"]
    assert project.raceways["R1"].segments["trench"].length.value == pytest.approx(12.192)
    assert project.project.units == "imperial"
    checked = run("check", folder)
    assert checked.exit_code == 0
    assert "unknown" in checked.stderr


def test_init_asks_for_what_no_flag_gives(tmp_path: Path) -> None:
    folder = tmp_path / "barn"
    answers = "imperial\nMill\n36.1\n\nEAST=1x12\nINV-1=1\nPVC-40 1 80 ft\n"
    result = run("init", folder, "--ask", input=answers)
    assert result.exit_code == 0, result.output
    for question in (
        "Units",
        "Name of the place",
        "Latitude",
        "Longitude",
        "What stands there",
        "Inverters",
        "Shared pipe",
    ):
        assert question in result.stderr
    project = load_project({path.name: path.read_bytes() for path in folder.glob("*.yaml")})
    assert (project.site.place, len(project.strings)) == ("Mill", 1)


def test_init_overwrites_nothing(tmp_path: Path) -> None:
    (tmp_path / "mine.yaml").write_text("x")
    result = run("init", tmp_path)
    assert result.exit_code == 5
    assert [path.name for path in tmp_path.iterdir()] == ["mine.yaml"]


def test_init_names_its_examples(tmp_path: Path) -> None:
    listed = run("init", tmp_path / "x", "--example", "list").stdout
    assert all(name in listed for name in EXAMPLES)
    assert run("init", tmp_path / "x", "--example", "nothing").exit_code == 2
    assert not (tmp_path / "x").exists()


@pytest.mark.parametrize(
    ("read", "text", "words"),
    [
        (arrays_of, "EAST", "NAME=ROWSxCOLUMNS"),
        (arrays_of, "EAST=0x3", "NAME=ROWSxCOLUMNS"),
        (arrays_of, "A=1x2,A=1x3", "stands twice"),
        (inverters_of, "INV-1", "NAME=INPUTS"),
        (inverters_of, "A=1, A=2", "stands twice"),
        (pipe_of, "PVC-40 1-1/2 64", "64 m"),
        (pipe_of, "hose 1 3 m", "kind, trade size and length"),
        (degrees_of, "36,1", "36.1"),
        (degrees_of, "500", "degrees"),
    ],
)
def test_an_answer_that_cannot_be_used_says_what_is_wanted(read, text: str, words: str) -> None:
    with pytest.raises(BadAnswer, match=words):
        read(text)
    assert degrees_of(" 12.5° ") == 12.5
    assert degrees_of("") is None


def test_a_bad_flag_is_a_usage_error(tmp_path: Path) -> None:
    assert run("init", tmp_path / "x", "--arrays", "EAST=ten").exit_code == 2
    assert not (tmp_path / "x").exists()
