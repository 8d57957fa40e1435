"""Pulls of whole folders: scenarios by hand, and every way in which a careless folder must not pass."""

from __future__ import annotations

import math

import pytest
from pull_folders import MASSES, ORCHARD, RIDGE, STOCK, folder

from reportgen.design.findings import Outcome
from reportgen.design.missing import Missing
from reportgen.working.quantity import Quantity


def pulls_of(made) -> dict[str, object]:
    return {f.code: f for f in made.findings if f.code.startswith("pull-")}


class TestSixWiresAndAGround:
    """Ridge: 180 ft, risers of 8 ft, two elbows; six 10 AWG and a ground of 10 AWG in 1-1/2."""

    @pytest.fixture
    def made(self, design):
        return design(folder(RIDGE))

    def test_tensions_by_hand(self, made) -> None:
        # w = 7 · 0.040 = 0.28 lb/ft; bends e^(μ·1.4·π/2). Lubricated, μ·w_c = 0.49: 8·0.28·0.49 = 1.098; ·2.1591 = 2.370;
        # + 180·0.1372 = 27.066; ·2.1591 = 58.44; + 1.098 = 59.54. Dry, 0.7: 1.568; ·3.0028 = 4.708; + 35.28 = 39.988;
        # ·3.0028 = 120.08; + 1.568 = 121.64.
        (item,) = made.facts.pulls
        low, _, high = item.pulls("start")
        assert low.end.value == pytest.approx(59.54, abs=0.02)
        assert high.end.value == pytest.approx(121.64, abs=0.02)

    def test_conductor_limit_by_hand(self, made) -> None:
        # 0.008 · 10 380 · 6 · 0.8 = 398.6 lb: the ground is not counted.
        found = pulls_of(made)["pull-tension"]
        assert found.limit.value == pytest.approx(398.592, abs=0.001)
        assert found.outcome is Outcome.MEETS
        assert "dry 122 lb" in found.headline

    def test_everything_meets(self, made) -> None:
        assert {f.outcome for f in pulls_of(made).values()} == {Outcome.MEETS}

    def test_line_stop_value_and_lubricant(self, made) -> None:
        (item,) = made.facts.pulls
        # 198.16 + 20 ft; the sharper of the two limits is the elbow: 300 · 8.25/12 = 206.25 lb.
        assert item.line_length.value == pytest.approx(218.16, abs=0.01)
        assert item.stop.value == pytest.approx(206.25)
        # 0.0015 · (180 · 1.590 + 18.16 · 1.476) gal for the two bores of the table.
        bores = {str(s.segment.kind): s.size.id_in.number for s in made.facts.stretches}
        by_hand = 0.0015 * (180 * bores["PVC-40"] + 18.1598 * bores["PVC-80"])
        assert item.lubricant.value == pytest.approx(by_hand, rel=1e-6)


class TestSeventeenWiresInASmallPipe:
    """Orchard: sixteen 10 AWG and a ground of 8 AWG in 1-1/4, 222 ft and two risers of 4 ft."""

    def test_lubricant_is_not_optional(self, design) -> None:
        # w = 16 · 0.040 + 0.065 = 0.705; lubricated 172.0 lb at the second elbow: / (7.25/12 ft) = 284.7 lb/ft, 5.1 %
        # below 300; dry 346.8 lb: 574 lb/ft.
        made = design(folder(ORCHARD, 8, ground="8 AWG"))
        (item,) = made.facts.pulls
        assert item.pulls("start")[0].end.value == pytest.approx(173.4, abs=0.1)
        assert item.pulls("start")[2].end.value == pytest.approx(348.8, abs=0.1)
        side = pulls_of(made)["pull-sidewall"]
        assert side.outcome is Outcome.THIN
        assert side.value.value == pytest.approx(284.7, abs=0.1)
        assert side.margin == pytest.approx(0.051, abs=0.0005)
        assert "dry 574 lb/ft (8377 N/m): lubricant is not optional" in side.headline
        # 0.008 · 10 380 · 16 · 0.8 = 1062.9 lb.
        assert item.tension_limits[0].value == pytest.approx(1062.9, abs=0.05)

    def test_a_lubricated_pull_past_a_limit_fails(self, design) -> None:
        made = design(folder(ORCHARD, 8, ground="8 AWG", stock=STOCK.replace("300 lbf/ft", "284 lbf/ft")))
        assert pulls_of(made)["pull-sidewall"].outcome is Outcome.FAILS

    @pytest.mark.parametrize(
        ("limit", "outcome"),
        [("348.9 lbf", "thin"), ("348.7 lbf", "thin"), ("388 lbf", "meets"), ("173 lbf", "fails")],
    )
    def test_the_user_s_own_limit(self, design, limit, outcome) -> None:
        # Dry 348.8 lb: within 348.9 lb by less than 10 %, past 348.7 lb but 173.4 lb lubricated; 173 lb is passed by both.
        files = folder(ORCHARD, 8, ground="8 AWG")
        text = (
            files["a.yaml"]
            .decode()
            .replace("units: imperial", f"units: imperial, policies: {{pull_limit: {limit}}}")
        )
        assert str(pulls_of(design({"a.yaml": text.encode()}))["pull-tension"].outcome) == outcome


ONE_END = """
      elbows: {kind: PVC-40, size: 2, length: 6 ft, place: underground, bends: [90 deg, 90 deg], bend_radius: 9.5 in}
      trench: {kind: PVC-40, size: 2, length: 300 ft, place: underground, bends: []}
"""


def test_feed_from_the_end_where_the_bends_are(design) -> None:
    made = design(folder(ONE_END, 6))
    (item,) = made.facts.pulls
    assert item.feed == "start"
    assert "the bends lie nearer the start" in item.advice.reason
    # Fed from the start the bends multiply little: 6 − 2·1.2436 = 3.513 ft · w 0.52 · 0.7 = 1.2787; e^(0.7·π) = 9.0164 → 11.53;
    # + 300·0.364 = 120.7. From the end: (109.2 + 1.2787) · 9.0164 = 996.1.
    assert item.pulls("start")[2].end.value == pytest.approx(120.7, abs=0.1)
    assert item.pulls("end")[2].end.value == pytest.approx(996.1, abs=0.3)
    line = pulls_of(made)["pull-line"]
    # Lubricated from the wrong end: (76.44 + 0.895) · e^(0.49·π) = 360.5 lb, below 600: dry alone it would break.
    assert line.outcome is Outcome.MEETS
    assert "fed from I1 361 lb (1604 N) lubricated" in line.notes[0]


def test_a_pull_that_only_one_end_allows_says_so(design) -> None:
    made = design(folder(ONE_END, 6, stock=STOCK.replace("600 lbf", "340 lbf")))
    line = pulls_of(made)["pull-line"]
    assert line.outcome is Outcome.THIN
    assert "from I1: the feed end is not optional" in line.headline


class TestLooseBends:
    """A bend without a place stands where it pulls harder, in each direction anew."""

    SEGMENT = "      a: {{kind: PVC-40, size: 2, length: 100 ft, place: underground, bends: [{bend}], bend_radius: 1 ft}}\n"

    def ends(self, design, bend: str) -> tuple[float, float]:
        (item,) = design(folder(self.SEGMENT.format(bend=bend), 6)).facts.pulls
        return item.pulls("start")[2].end.value, item.pulls("end")[2].end.value

    def test_worst_of_both_ends(self, design) -> None:
        loose = self.ends(design, "90 deg")
        at_start = self.ends(design, "{angle: 90 deg, at: 0.7854 ft}")
        at_end = self.ends(design, "{angle: 90 deg, at: 99.2146 ft}")
        assert loose[0] == pytest.approx(at_end[0], rel=1e-3)
        assert loose[1] == pytest.approx(at_start[1], rel=1e-3)
        assert loose[0] > at_start[0]

    @pytest.mark.parametrize("at", [10, 40, 70, 95])
    def test_no_known_place_is_worse(self, design, at) -> None:
        loose, known = self.ends(design, "90 deg"), self.ends(design, f"{{angle: 90 deg, at: {at} ft}}")
        assert all(one >= two - 1e-9 for one, two in zip(loose, known, strict=True))


class TestSlopes:
    def test_a_riser_carries_the_weight(self, design) -> None:
        # 30 ft straight up: w · 30 = 0.28 · 30 = 8.4 lb with no friction; down it runs free.
        up = "      a: {kind: PVC-40, size: 2, length: 30 ft, rise: 30 ft, place: outdoors, bends: []}\n"
        (item,) = design(folder(up)).facts.pulls
        assert item.pulls("start")[2].end.value == pytest.approx(8.4)
        assert item.pulls("end")[2].end.value == 0
        assert item.pulls("end")[2].steps[0].runs_free

    def test_climb_of_an_elbow_counts_once(self, design) -> None:
        # 10 ft of pipe with an elbow of 1 ft radius (arc 1.5708 ft): climb 9 ft = 8 ft straight up and 1 ft in the elbow.
        up = "      a: {kind: PVC-40, size: 2, length: 9.5708 ft, rise: 9 ft, place: outdoors, bends: [{angle: 90 deg, at: 0.7854 ft, turn: up}], bend_radius: 1 ft}\n"
        (item,) = design(folder(up)).facts.pulls
        # From the foot: 0 → e^… of nothing + 0.28·1 = 0.28 lb in the elbow; + 0.28 · 8 = 2.52 lb.
        assert item.pulls("start")[2].end.value == pytest.approx(0.28 * 9, rel=1e-3)

    def test_a_climb_that_the_length_does_not_allow_is_unknown(self, design) -> None:
        up = "      a: {kind: PVC-40, size: 2, length: 30 ft, rise: 33 ft, place: outdoors, bends: []}\n"
        (found,) = pulls_of(design(folder(up))).values()
        assert found.outcome is Outcome.UNKNOWN
        assert found.missing == ("rise of R1/a that its length allows",)


NO_BENDS = "      a: {kind: PVC-40, size: 2, length: 100 ft, place: underground}\n"
SHORT = "      a: {kind: PVC-40, size: 2, length: 1 ft, place: underground, bends: [90 deg, 90 deg], bend_radius: 2 ft}\n"
OUTSIDE = "      a: {kind: PVC-40, size: 2, length: 10 ft, place: underground, bends: [{angle: 90 deg, at: 12 ft}]}\n"


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"segments": NO_BENDS}, "bends of R1/a: measure each angle"),
        ({"segments": SHORT}, "length of R1/a with its elbows"),
        ({"segments": OUTSIDE}, "places of the bends of R1/a"),
        ({"masses": "{size: 10 AWG}"}, "mass of cable W in 10 AWG"),
        ({"masses": "{size: 10 AWG, mass: 0 lb/ft}"}, "mass of cable W in 10 AWG"),
        ({"masses": "{size: 8 AWG, mass: 0.065 lb/ft}"}, "mass of cable W in 10 AWG"),
        (
            {"stock": STOCK.replace("lubricated: 0.35", "lubricated: 0.6")},
            "friction_lubricated of stock no higher",
        ),
        ({"stock": STOCK.replace("dry: 0.5", "dry: 50")}, "friction_dry of stock between 0 and 1"),
        (
            {"stock": STOCK.replace("lubricated: 0.35", "lubricated: -0.35")},
            "friction_lubricated of stock between",
        ),
        (
            {"stock": STOCK.replace("correction: 1.4", "correction: 0.4")},
            "weight_correction of stock of 1 or more",
        ),
    ],
)
def test_a_folder_that_cannot_be_pulled_is_unknown_and_says_what_to_state(design, changes, told) -> None:
    found = [
        f for f in design(folder(**{"segments": RIDGE, **changes})).findings if f.code.startswith("pull-")
    ]
    assert [f.outcome for f in found] == [Outcome.UNKNOWN]
    assert any(item.startswith(told) for item in found[0].missing), found[0].missing


def test_an_open_end_is_unknown(design) -> None:
    files = folder(RIDGE)
    text = files["a.yaml"].decode().replace("    ends_at: I1\n", "")
    (found,) = pulls_of(design({"a.yaml": text.encode()})).values()
    assert found.missing == ("ends_at of raceway R1",)


def test_a_wire_that_leaves_out_a_stretch_is_unknown(design) -> None:
    text = (
        folder(RIDGE)["a.yaml"]
        .decode()
        .replace("size: 10 AWG, path: [R1]", "size: 10 AWG, path: [R1/riser, R1/trench]", 1)
    )
    (found,) = pulls_of(design({"a.yaml": text.encode()})).values()
    assert found.outcome is Outcome.UNKNOWN
    assert found.missing == ("path of circuit P1 through all of R1 A1 to I1, R1/riser-2 too",)


@pytest.mark.parametrize(
    ("key", "code"), [("line_rating: 600 lbf", "pull-line"), ("sidewall_limit: 300 lbf/ft", "pull-sidewall")]
)
def test_a_limit_that_nobody_stated_is_no_pass(design, key, code) -> None:
    made = design(folder(RIDGE, stock=STOCK.replace(key, "trim: 1 ft")))
    assert pulls_of(made)[code].outcome is Outcome.UNKNOWN
    (item,) = made.facts.pulls
    assert isinstance(item.stop, Missing)


def test_usual_friction_shows_figures_and_gives_no_verdict(design) -> None:
    made = design(
        folder(RIDGE, stock="weight_correction: 1.4, sidewall_limit: 300 lbf/ft, line_rating: 600 lbf")
    )
    found = pulls_of(made)
    assert {f.outcome for f in found.values()} == {Outcome.UNKNOWN}
    assert "dry 122 lb" in found["pull-tension"].headline
    assert {"stock.friction_dry", "stock.friction_lubricated"} <= {a.key for a, _ in made.assumptions}


def test_wires_that_stay_in_the_pipe_are_asked_about_and_never_a_pass(design) -> None:
    text = folder(RIDGE)["a.yaml"].decode()
    text = text.replace(
        "G: {kind: ground,",
        "OLD: {kind: abandoned, cable: W, size: 8 AWG, conductors: 4, path: [R1], status: existing}\n  G: {kind: ground,",
    )
    found = pulls_of(design({"a.yaml": text.encode()}))
    assert found["pull-over-wires"].outcome is Outcome.ASK
    assert "4 wires stay" in found["pull-over-wires"].headline
    assert {f.outcome for f in found.values()} == {Outcome.ASK}


def test_nothing_new_nothing_pulled(design) -> None:
    text = folder(RIDGE)["a.yaml"].decode().replace("cable: W,", "cable: W, status: existing,")
    assert design({"a.yaml": text.encode()}).facts.pulls == ()


def test_two_and_three_wires_press_by_the_narrowest_pipe(design) -> None:
    # Two legs and a ground: D of 2 in PVC-40 2.047 in, d 0.164 in: q = 12.48; 1 + 4/3 · (1/11.48)² = 1.0101.
    one = "      a: {kind: PVC-40, size: 2, length: 100 ft, place: underground, bends: []}\n"
    (item,) = design(folder(one, 1, stock="friction_lubricated: 0.35, friction_dry: 0.5")).facts.pulls
    q = item.correction
    assert isinstance(q, Quantity)
    assert q.value == pytest.approx(1 + 4 / 3 / (2.047 / 0.164 - 1) ** 2, abs=1e-3)


def test_unlike_sizes_take_the_smallest_metal(design) -> None:
    text = (
        folder(RIDGE, masses=MASSES)["a.yaml"].decode().replace("size: 10 AWG, path", "size: 6 AWG, path", 1)
    )
    (item,) = design({"a.yaml": text.encode()}).facts.pulls
    assert item.tension_limits[0].value == pytest.approx(0.8 * 0.008 * 6 * 10380, rel=1e-9)
    assert item.weight.value == pytest.approx(2 * 0.103 + 5 * 0.040)


def test_a_further_pull_point_is_placed_where_it_helps(design) -> None:
    (item,) = design(folder(ORCHARD, 8, ground="8 AWG")).facts.pulls
    found = item.further_pull_point()
    assert found is not None
    assert found.hardest.value < found.before.value
    assert math.isfinite(found.distance.value)
    assert 0 < found.distance.value < 232


def test_spare_wires_that_nobody_counted_leave_the_pull_unknown(design) -> None:
    text = folder(RIDGE)["a.yaml"].decode()
    text = text.replace(
        "G: {kind: ground,", "SPARE: {kind: spare, cable: W, size: 10 AWG, path: [R1]}\n  G: {kind: ground,"
    )
    (found,) = pulls_of(design({"a.yaml": text.encode()})).values()
    assert (found.outcome, found.missing) == (Outcome.UNKNOWN, ("conductors of circuit SPARE",))
