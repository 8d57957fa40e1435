"""Equipment from the library inside pvlib: found by words, copied with its source, never looked up by a check.

Entries are taken by their place in the files, so that no name of a maker stands here.
"""

from __future__ import annotations

from itertools import islice
from pathlib import Path

import pytest

from reportgen.authoring.library import FILES, block, entries, fill, named, nearly, search
from reportgen.diagnostics.model import InputRefused, Sink
from reportgen.project.equipment import Inverter, Module
from reportgen.project.load import load_project
from reportgen.project.model import Project

from .test_commands import run

HEAD = "project: {title: Barn}\nsite: {place: Hill}\n"


def entry(kind: str, number: int = 1000):
    return next(islice(entries(kind), number, None))


def load(text: str, **more: str) -> Project:
    files = {"a.yaml": (HEAD + text).encode()}
    return load_project(files | {f"{name}.yaml": body.encode() for name, body in more.items()})


@pytest.mark.parametrize("kind", FILES)
def test_an_entry_is_found_by_the_words_of_its_name(kind: str) -> None:
    wanted = entry(kind)
    words = wanted.name.replace("_", " ").upper().split()
    assert wanted in search(kind, words)
    assert named(kind, wanted.name) == wanted
    assert search(kind, [*words, "zzzz"]) == []
    assert wanted.name in [item.name for item in nearly(kind, [*words, "zzzz"], 50)]
    assert nearly(kind, ["zzzzqqqq"]) == []


@pytest.mark.parametrize("number", [0, 5000, 12_000, 21_000])
def test_a_copied_module_has_the_values_of_the_library(number: int) -> None:
    wanted = entry("module", number)
    module = load(block(wanted, "M1")).modules["M1"]
    row = {
        key: float(wanted.row[key]) for key in ("STC", "V_oc_ref", "I_mp_ref", "beta_oc", "gamma_r", "T_NOCT")
    }
    assert module.power.value == row["STC"]
    assert module.open_circuit_voltage.value == row["V_oc_ref"]
    assert module.operating_current.value == row["I_mp_ref"]
    assert module.voltage_coefficient is not None
    assert (module.voltage_coefficient.value, module.voltage_coefficient.unit) == (row["beta_oc"], "V/degC")
    assert module.power_coefficient is not None
    assert module.power_coefficient.value == row["gamma_r"]
    assert module.operating_temperature is not None
    assert module.operating_temperature.value == row["T_NOCT"]
    assert FILES["module"] in str(module.source)
    assert wanted.name in str(module.source)
    text = block(wanted, "M1")
    assert "maximum_system_voltage: look for “Maximum system voltage”" in text
    assert "maximum_series_fuse" in text


def test_a_copied_inverter_has_one_window_and_says_so() -> None:
    wanted = entry("inverter")
    text = block(wanted, "H1")
    inverter = load(text).inverters["H1"]
    assert inverter.maximum_dc_voltage is not None
    assert inverter.maximum_dc_voltage.value == float(wanted.row["Vdcmax"])
    assert inverter.inputs["A"].tracking_from is not None
    assert inverter.inputs["A"].tracking_from.value == float(wanted.row["Mppt_low"])
    assert "one window an inverter" in text
    assert "short_circuit_limit: look for" in text


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "model"), [("module", Module), ("inverter", Inverter)])
def test_every_ninth_entry_of_the_library_can_be_copied(kind: str, model: type) -> None:
    count = 0
    for number, item in enumerate(entries(kind)):
        if number % 9 == 0:
            load(block(item, "X"))
            count += 1
    assert count > 300


def test_a_name_in_the_folder_is_refused_until_it_is_copied() -> None:
    name = entry("module").name
    with pytest.raises(InputRefused) as refused:
        load(f"modules:\n  M1: {{library: '{name}'}}\narrays: {{E: {{module: M1, count: 2}}}}\n")
    (item,) = refused.value.diagnostics
    assert (item.code, str(item.span)) == ("library-not-copied", "a.yaml:4:17")
    assert "reportgen find --fill DIR" in str(item.help)


@pytest.mark.parametrize(
    "text",
    [
        "modules:\n  M1: {{library: '{name}', maximum_system_voltage: 1000 V}}  # ours\narrays: {{}}\n",
        "# head\nmodules:\n  M1:\n    library: '{name}'   # from the label\n    maximum_system_voltage: 1000 V\n\narrays: {{}}\n",
        "modules:\r\n  M1:\r\n    maximum_system_voltage: 1000 V\r\n    library: '{name}'\r\n",
    ],
)
def test_values_take_the_place_of_the_name_and_comments_stay(text: str) -> None:
    wanted = entry("module")
    before = text.format(name=wanted.name)
    sink = Sink()
    filled = fill("b.yaml", before.encode(), sink)
    assert sink.items == []
    assert filled is not None
    assert filled.copied == (("M1", wanted),)
    assert "library:" not in filled.text
    for comment in ("# ours", "# head", "# from the label"):
        assert (comment in filled.text) == (comment in before)
    module = load("", b=filled.text).modules["M1"]
    assert module.power.value == float(wanted.row["STC"])
    assert module.maximum_system_voltage is not None
    assert module.maximum_system_voltage.value == 1000
    assert fill("b.yaml", filled.text.encode(), Sink()) is None


def test_a_value_that_is_stated_is_kept() -> None:
    filled = fill(
        "a.yaml", f"modules: {{M1: {{power: 111 W, library: '{entry('module').name}'}}}}".encode(), Sink()
    )
    assert filled is not None
    assert load("", b=filled.text).modules["M1"].power.value == 111


def test_a_name_that_is_not_there_draws_names_like_it() -> None:
    wanted = entry("module").name
    sink = Sink()
    assert fill("a.yaml", f"modules:\n  M1: {{library: '{wanted} zzz'}}\n".encode(), sink) is None
    (item,) = sink.items
    assert (item.code, str(item.span)) == ("library-unknown", "a.yaml:2:17")
    assert "names like it" in str(item.help)


def test_find_lists_shows_and_copies(tmp_path: Path) -> None:
    wanted = entry("module")
    words = wanted.name.replace("_", " ").split()
    several = run("find", "module", words[0])
    assert several.exit_code == 0
    assert "found" in several.stderr
    shown = run("find", "module", *words)
    assert shown.stdout == block(wanted, "M1")
    copied = run("find", "module", *words, "--into", tmp_path, "--id", "T300")
    assert copied.exit_code == 0
    written = (tmp_path / "module-T300.yaml").read_text()
    assert load(written.partition("\n")[2]).modules["T300"].power.value == float(wanted.row["STC"])
    assert run("find", "module", *words, "--into", tmp_path, "--id", "T300").exit_code == 5
    assert run("find", "module", "zzzz").exit_code == 1
    run("init", tmp_path / "barn", "--no-ask")
    told = run("find", "module", *words, "--into", tmp_path / "barn").stderr
    assert "module type M2: arrays name it" in told
    inverter = entry("inverter").name
    assert run("find", "inverter", inverter, "--into", tmp_path / "barn").exit_code == 0
    assert run("check", tmp_path / "barn").exit_code == 0
    assert run("find").exit_code == 2
    assert run("find", "module").exit_code == 2


def test_fill_writes_into_the_folder_and_refuses_as_a_whole(tmp_path: Path) -> None:
    name = entry("inverter").name
    good, bad = tmp_path / "a.yaml", tmp_path / "b.yaml"
    good.write_text(f'inverters:\n  H1:\n    library: "{name}"\n    units: {{INV-9: {{}}}}\n')
    bad.write_text("modules:\n  M1: {library: zzzz}\n")
    before = good.read_text()
    refused = run("find", "--fill", tmp_path)
    assert refused.exit_code == 4
    assert "b.yaml:2:17" in refused.stderr
    assert good.read_text() == before
    bad.unlink()
    assert run("find", "--fill", tmp_path).exit_code == 0
    inverter = load("", b=good.read_text()).inverters["H1"]
    assert list(inverter.units) == ["INV-9"]
    assert "no `library` key" in run("find", "--fill", tmp_path).stderr
