"""Sketch of the site: arrays, boxes, isolators and inverters, and the pipes between them with the lengths stated."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from reportgen.binder.chapters.base import Desk
from reportgen.binder.drawings.site_sketch import COLUMNS, ROWS, WAYS, Place, Way, columns_of, site_sketch
from reportgen.binder.elements import Figure, Paragraph, anchor
from reportgen.project.layout import Circuit
from reportgen.working.quantity import Quantity


def sketch(desk: Desk) -> Iterator[Figure | Paragraph]:
    """One sheet, or a line that says why there is none; nothing where no raceway runs."""
    graph = desk.design.facts.graph
    if not any(raceway.status != "removed" for raceway in graph.project.raceways.values()):
        return
    made = _Sketch(desk)
    places = made.places()
    most = max(
        (sum(one.column == column for one in places) for column in {one.column for one in places}), default=0
    )
    if (
        max(one.column for one in places) >= COLUMNS
        or most > ROWS
        or sum(bool(way.told) for way in made.ways) > WAYS
    ):
        yield Paragraph("The site is not sketched: more stands there than a sheet holds.")
        return
    stands = "; ".join(f"{one.name}: {told}" for one in places if (told := made.about.get(one.id)))
    legend = [
        "Dashed: in earth, the route of the trench. Grey: in or on a building. Lengths are those along the pipe, or of the "
        f"wires where no pipe is stated. {stands}",
    ]
    yield site_sketch(
        anchor("site-sketch"),
        "Sketch of the site",
        "Not to scale, and north is not stated: what stands where, in the order of the wires.",
        places,
        made.ways,
        legend,
    )


class _Sketch:
    """Gathers places and ways in the order of the folder; a class because each step adds to both."""

    def __init__(self, desk: Desk) -> None:
        self.desk, self.graph = desk, desk.design.facts.graph
        self.project = self.graph.project
        self.found: dict[str, Place] = {}
        self.ways: list[Way] = []
        self.about: dict[str, str] = {}
        self._runs()
        self._strings()

    def places(self) -> list[Place]:
        beside = {way.end: way.start for way in self.ways if way.pen == "leader"}
        columns = columns_of(
            [one for one in self.found if one not in beside],
            [way for way in self.ways if way.pen != "leader"],
        )
        made = []
        for one in self.found.values():
            if one.id not in beside:
                made.append(replace(one, column=columns[one.id]))
                made += [
                    replace(self.found[near], column=columns[one.id])
                    for near, far in beside.items()
                    if far == one.id
                ]
        return made

    def _runs(self) -> None:
        for run in self.graph.runs:
            raceway, _ = self.graph.segments[run[0]]
            if raceway.status == "removed":
                continue
            start = self._unit(self.graph.enclosure_before(run[0]) or f"start of {run[0]}")
            end = self._unit(self.graph.enclosure_after(run[-1]) or f"end of {run[-1]}")
            buried = any(self.graph.segments[key][1].place == "underground" for key in run)
            stretches = ", ".join(
                f"{key.segment} {self._length(self.graph.segments[key][1].length)} {self.graph.segments[key][1].place}"
                for key in run
            )
            pen = "dashed" if buried else "heavy"
            self.ways.append(Way(start, end, pen, f"{run[0].raceway}: {stretches}"))

    def _strings(self) -> None:
        """Arrays that stand beside the start of a raceway, isolators, and inverters behind its end."""
        before: dict[str, dict[str, list[Circuit]]] = defaultdict(lambda: defaultdict(list))
        behind: dict[tuple[str, str], list[Circuit]] = defaultdict(list)
        for circuit in self.project.circuits.values():
            string = self.project.strings.get(str(circuit.string)) if circuit.string else None
            through = self.graph.through(circuit)
            if string is None or circuit.status == "removed" or not through:
                continue
            start = self.graph.enclosure_before(through[0]) or f"start of {through[0]}"
            end = self.graph.enclosure_after(through[-1]) or f"end of {through[-1]}"
            for part in self.project.parts_of(string):
                if str(part.array) != start:
                    before[start][str(part.array)].append(circuit)
            unit = str(string.input or "").partition("/")[0]
            behind[end, unit or "input not stated"].append(circuit)
        for start, arrays in before.items():
            for array, circuits in arrays.items():
                self._tail(self._unit(array), self._unit(start), circuits, "start")
        for (end, unit), circuits in behind.items():
            if end != unit:
                self._tail(self._unit(end), self._unit(unit), circuits, "end")
            self._isolators(unit, circuits)

    def _tail(self, start: str, end: str, circuits: list[Circuit], which: str) -> None:
        tails = [getattr(one.tails, which) for one in circuits if one.tails is not None]
        shortest, longest = (
            pick(tails, key=lambda tail: tail.to("m").value, default=None) for pick in (min, max)
        )
        told = "length not stated"
        if shortest is not None and longest is not None:
            told = self._length(longest)
            if shortest.value != longest.value:
                told = f"{self._length(shortest)} to {told}"
        many = len({id(one) for one in circuits})
        words = f"{many} {'circuit' if many == 1 else 'circuits'} in the open or in a pipe that is not stated, tails of {told}"
        self.ways.append(Way(start, end, "axis", words))

    def _isolators(self, unit: str, circuits: list[Circuit]) -> None:
        names = dict.fromkeys(
            str(one)
            for circuit in circuits
            for one in circuit.enclosures
            if self.project.switch_of(str(one)) is not None
        )
        names = {name: None for name in names if name not in self.found}
        if not names:
            return
        id = f"isolators of {unit}"
        if id in self.about:
            self.about[id] += f", {', '.join(names)}"
            return
        kinds = [self.project.switch_of(name) for name in names]
        inside = all(
            kind is not None and kind[1].units[name].inside for name, kind in zip(names, kinds, strict=True)
        )
        places = {
            str(kind[1].units[name].place or "place not stated")
            for name, kind in zip(names, kinds, strict=True)
            if kind is not None
        }
        self.found[id] = Place(
            id, f"{len(names)} isolators" if len(names) > 1 else next(iter(names)), "", "isolators", 0, inside
        )
        self.about[id] = f"{', '.join(names)} ({'; '.join(sorted(places))}), before {unit}"
        self.ways.append(Way(self._unit(unit), id, "leader"))

    def _unit(self, name: str) -> str:
        if name in self.found:
            return name
        array = self.project.arrays.get(name)
        if array is not None:
            about = str(array.mounting)
            place, inside, kind = array.place, bool(array.on_building), "array"
        else:
            about, place, inside, kind = "", None, False, "box"
            for kinds, word in (
                (self.project.inverters, "inverter"),
                (self.project.switches, "switch"),
                (self.project.boxes, "box"),
            ):
                for item in kinds.values():
                    if name in item.units:
                        installed = item.units[name]
                        about, place, inside = word, installed.place, bool(installed.inside)
                        kind = "isolators" if word == "switch" else word
        self.found[name] = Place(name, name, about, kind, 0, inside)
        told = [str(place or "")]
        if array is not None and array.azimuth is not None:
            told.append(f"faces {array.azimuth.show(0)} from north")
        self.about[name] = ", ".join(filter(None, told))
        return name

    def _length(self, length: Quantity) -> str:
        units = self.desk.units
        return units.both(length, "length", units.places(0, 1))
