"""Rules of the search dropped or bent one at a time, each with a small yard on which that shows."""

from __future__ import annotations

from dataclasses import dataclass

from tests.validation.bound_yards import Yard


@dataclass(frozen=True, slots=True)
class Mutation:
    """A rule, the small yard that it decides, and what is changed in which file of the search.

    Each change: file of ``optimizer/search``, text that is there exactly once, text in its place.
    """

    rule: str
    yard: Yard
    changes: tuple[tuple[str, str, str], ...]


MUTATIONS = (
    Mutation(
        "reserve of legs",
        6,
        (("tables.py", "reserve = one.reserve_m if isinstance(one, Leg) else 0.0", "reserve = 0.0"),),
    ),
    Mutation(
        "greatest height of legs",
        6,
        (("tables.py", "high=one.max_m - reserve -", "high=9.0 + one.max_m - reserve -"),),
    ),
    Mutation(
        "least height of legs",
        9,
        (("tables.py", "low=one.min_m + reserve +", "low=-9.0 + one.min_m + reserve +"),),
    ),
    Mutation(
        "survey error, lower end",
        69,
        (("tables.py", "low=one.min_m + reserve + site.wishes.survey_error_m", "low=one.min_m + reserve"),),
    ),
    Mutation(
        "survey error, upper end",
        26,
        (("tables.py", "high=one.max_m - reserve - site.wishes.survey_error_m", "high=one.max_m - reserve"),),
    ),
    Mutation("edge distance of feet", 6, (("tables.py", " + foot.edge_distance_m", ""),)),
    Mutation("size of feet", 6, (("tables.py", "reach=foot.plate_m / 2.0**0.5 + foot", "reach=foot"),)),
    Mutation(
        "braces",
        6,
        (
            (
                "tables.py",
                "brace_above=one.brace_above_m if isinstance(one, Leg) else NO_LIMIT_M",
                "brace_above=NO_LIMIT_M",
            ),
        ),
    ),
    Mutation(
        "rating of legs",
        123,
        (
            (
                "usable_parts.py",
                "legs = tuple(leg for leg in catalogue.legs if leg.rated_load_kg >= mass)",
                "legs = tuple(catalogue.legs)",
            ),
        ),
    ),
    Mutation(
        "clearance",
        11,
        (("tables.py", "clearance=catalogue.clearance_m,\n        low_", "clearance=0.0,\n        low_"),),
    ),
    Mutation(
        "low clearance", 1, (("tables.py", "low_clearance=catalogue.low_clearance_m", "low_clearance=-9.0"),)
    ),
    Mutation("gap between pieces", 3, (("tables.py", "gap=catalogue.piece_gap_m", "gap=0.0"),)),
    Mutation(
        "headroom",
        79,
        (("tables.py", "zone.underside_m - max(zone.headroom_m, headroom_m)", "zone.underside_m + 9.0"),),
    ),
    Mutation(
        "level bottom",
        10,
        (
            (
                "tables.py",
                "level_limit=design.landing_slope if math.isfinite(design.landing_slope) else STEEPEST_LEVEL",
                "level_limit=9.0",
            ),
        ),
    ),
    Mutation(
        "depth of pads",
        246,
        (
            (
                "tables.py",
                "pad_difference=0.0 if parts.pad is None else parts.pad.greatest_level_difference_m",
                "pad_difference=9.0",
            ),
        ),
    ),
    Mutation(
        "bottom space", 3, (("tables.py", "triangles_of(kept_free, HIGH)", "triangles_of(Polygon(), HIGH)"),)
    ),
    Mutation(
        "zones without digging",
        57,
        (("tables.py", "triangles_of(around.dig, HIGH)", "triangles_of(Polygon(), HIGH)"),),
    ),
    Mutation(
        "rails by rise",
        6,
        (
            (
                "tables.py",
                "handrail_rise=design.rails_rise_m",
                "handrail_rise=NO_LIMIT_M",
            ),
        ),
    ),
    Mutation(
        "rails by height",
        10,
        (("tables.py", "guard_above=min(site.wishes.guard_above_m, ", "guard_above=min("),),
    ),
    Mutation(
        "landing rails",
        1,
        (
            (
                "tables.py",
                "site.wishes.rail_landings_above_m, design.guard_drop_m, design.rails_rise_m",
                "design.guard_drop_m, design.rails_rise_m",
            ),
        ),
    ),
    Mutation(
        "lot line for pieces",
        78,
        (
            (
                "tables.py",
                "off_site = world.difference(around.buildable.intersection(around.surveyed))",
                "off_site = world.difference(around.surveyed)",
            ),
        ),
    ),
    Mutation(
        "setback",
        78,
        (("surroundings.py", 'lot.buffer(-setback_m, join_style="mitre") if setback_m > 0 else lot', "lot"),),
    ),
    Mutation(
        "price of relief",
        134,
        (("prepared.py", "reliefs.append(site.yard.relief_cents)", "reliefs.append(0)"),),
    ),
    Mutation(
        "rise of a run",
        28,
        (("slope_levels.py", "rise=row.greatest_rise_m", "rise=NO_END_M"),),
    ),
    Mutation(
        "length of a run",
        7,
        (("slope_levels.py", "longest=row.longest_m", "longest=max(row.longest_m, 9.0)"),),
    ),
    Mutation(
        "way between rests",
        14,
        (("slope_levels.py", "if longest is None:", "if longest != 0.0:"),),
    ),
    Mutation("longest run", 68, (("run_sums.py", "longest_m + 1e-6", "longest_m + 1.0"),)),
    Mutation(
        "number of runs",
        3,
        (("tables.py", "return site.search.most_runs\n", "return site.search.most_runs + 1\n"),),
    ),
    Mutation(
        "break lines", 6, (("footing_tables.py", "for line in site.ground.break_lines:", "for line in ():"),)
    ),
    Mutation(
        "obstacles for feet",
        35,
        (
            (
                "footing_tables.py",
                "stretches.append(_closed(frame, obstacle.outline_m, KEEP_OFF, 0.0))",
                "pass",
            ),
        ),
    ),
    Mutation(
        "zones without feet",
        167,
        (
            (
                "footing_tables.py",
                "if zone.kind in FOOT_BLOCKING | PIECE_BLOCKING",
                "if zone.kind in PIECE_BLOCKING",
            ),
        ),
    ),
    Mutation(
        "zones without pieces",
        25,
        (
            (
                "surroundings.py",
                "zones = [zone for zone in yard.zones if zone.kind in PIECE_BLOCKING]",
                "zones = []",
            ),
        ),
    ),
    Mutation(
        "endless obstacles",
        35,
        (
            (
                "tables.py",
                "unary_union([off_site, around.house, around.walls, around.blocked])",
                "unary_union([off_site, around.house, around.blocked])",
            ),
        ),
    ),
    Mutation(
        "tops of obstacles",
        78,
        (
            (
                "tables.py",
                "        tops,\n        triangles_of(solid, HIGH)",
                "        [],\n        triangles_of(solid, HIGH)",
            ),
        ),
    ),
    Mutation(
        "the house for feet",
        18,
        (
            (
                "footing_tables.py",
                "    stretches += [_closed(frame, ring, KEEP_OFF, 0.0) for ring in yard.house_m]\n",
                "",
            ),
        ),
    ),
    Mutation(
        "arrival zones",
        2,
        (
            (
                "footing_tables.py",
                "stretches += [_closed(frame, outline, ARRIVAL, 0.0) for outline in yard.arrivals_m]",
                "pass",
            ),
        ),
    ),
    Mutation("places to pass", 5, (("tables.py", "(site.wishes.must_pass_m, 0.0)", "((), 0.0)"),)),
    Mutation("places of landings", 21, (("tables.py", "(site.wishes.landing_at_m, 1.0)", "((), 1.0)"),)),
    Mutation("equal slopes", 39, (("prepared.py", 'site.wishes.slopes == "equal"', "False"),)),
    Mutation(
        "exits",
        8,
        (("openings.py", "one for one in EXITS if one in site.wishes.exits", "one for one in EXITS"),),
    ),
    Mutation(
        "most turns",
        24,
        (
            (
                "prepared.py",
                "turns = runs if site.wishes.most_turns is None else site.wishes.most_turns",
                "turns = runs",
            ),
        ),
    ),
    Mutation(
        "whole height steps",
        6,
        (
            (
                "slope_levels.py",
                "np.floor(shares[:, None] * tops[None, :] / step + 1e-9)",
                "np.ceil(shares[:, None] * tops[None, :] / step)",
            ),
        ),
    ),
    Mutation("mid supports", 18, (("tables.py", "mid_last=last,", "mid_last=first,"),)),
    Mutation("bedding", 10, (("tables.py", "bedding=site.bedding_m", "bedding=0.0"),)),
    Mutation(
        "lattice lines along the wall",
        38,
        (("tables.py", "line_v=start.gap_m + width / 2.0", "line_v=start.gap_m"),),
    ),
    Mutation(
        "gap at the door",
        3,
        (
            (
                "openings.py",
                "half, gap, pitch = width_m / 2.0, start.gap_m, site",
                "half, gap, pitch = width_m / 2.0, 0.0, site",
            ),
        ),
    ),
    Mutation(
        "slope of the plate",
        133,
        (
            ("toe_kernel.py", "drop > slope_limit * reach + E", "drop > 9.0"),
            ("arc_kernel.py", "fall > numbers.steepest * reach + E:", "fall > 9.0:"),
        ),
    ),
    Mutation("corners of the tip", 23, (("toe_kernel.py", "abs(z - tip) > LIP + E", "abs(z - tip) > 9.0"),)),
    Mutation(
        "pieces over pieces",
        3,
        (
            (
                "exact_kernel.py",
                "if free < ahead - E:\n        return math.nan",
                "if free < -9.0:\n        return math.nan",
            ),
        ),
    ),
    Mutation(
        "bottom space over pieces",
        3,
        (("exact_kernel.py", ") < length - E:  # fmt: skip", ") < -9.0:  # fmt: skip"),),
    ),
    Mutation(
        "supports of joints by level",
        10,
        (("support_kernel.py", "(level - tables.numbers[0].bedding)", "level"),),
    ),
    Mutation(
        "law of a run, where levels are shared out",
        "law",
        (("slope_levels.py", "kept = int(most_steps(laws, length, step, most))", "kept = most"),),
    ),
    Mutation(
        "law of a run that is laid",
        100,
        (
            (
                "slope_levels.py",
                "if not allows_run(laws, float(drops[level, i]) * step, float(plans[level, i])):",
                "if step < 0.0:",
            ),
        ),
    ),
    Mutation(
        "law of a last run with its plate",
        "law",
        (("arc_kernel.py", "if not allows_last(tables.laws, drop, plan, fall, reach):", "if fall > 9.0:"),),
    ),
    Mutation(
        "law of a plate by itself",
        "law",
        (("law_kernel.py", "if not plate and has_room(row, fall, reach):", "if not plate:"),),
    ),
    Mutation(
        "slopes of a last run's sections and plate",
        "bound 28",
        (("law_kernel.py", "if is_long_enough and drop + fall <= row.rise + E:", "if drop > -9.0:"),),
    ),
    Mutation(
        "every law, not one of them",
        "bound 7",
        (("slope_levels.py", "for n, law in enumerate(laws)", "for n, law in enumerate(laws[:1])"),),
    ),
    Mutation(
        "laws that leave out their own slope", "strict", (("slope_levels.py", "int(row.is_strict)", "0"),)
    ),
    Mutation(
        "slopes between two points of a formula",
        "law",
        (("slope_levels.py", 'int(row.between == "ratio")', "1"),),
    ),
    Mutation(
        "lengths from which a slope holds", "strict", (("slope_levels.py", "above=row.above_m", "above=0.0"),)
    ),
    Mutation(
        "room at the door",
        "door",
        (
            (
                "openings.py",
                "if not has_door_room(asked.design, start, landing, slide_m, leaves):",
                "if slide_m > 99.0:",
            ),
        ),
    ),
    Mutation(
        "way a door is approached", "door", (("door_room.py", 'if leaves == "front":', 'if leaves != "":'),)
    ),
    Mutation(
        "way a door swings",
        "door",
        (("door_room.py", '"pull" if start.swing == "out" else "push"', '"push"'),),
    ),
    Mutation(
        "side of the hinge",
        "bound 37",
        (("door_room.py", 'if start.hinge_side == "left" else', 'if start.hinge_side == "right" else'),),
    ),
    Mutation(
        "closer of the door",
        "bound 3",
        (("door_room.py", "if design.closer:", "if design.closer and design.latch is None:"),),
    ),
    Mutation(
        "place of the landing before the door",
        "bound 18",
        (("door_room.py", "is_at_most(half + left, clear - slide_m)", "is_at_most(half + left, clear)"),),
    ),
    Mutation(
        "landing at the door left by a side",
        "bound 83",
        (("usable_parts.py", '"door", design.landing_door_turn', '"door", design.landing_door'),),
    ),
    Mutation(
        "landing that turns by a quarter",
        "turn",
        (("usable_parts.py", '"quarter", design.landing_quarter', '"quarter", design.landing_straight'),),
    ),
    Mutation(
        "landing that turns by half",
        "turn",
        (("usable_parts.py", '"half", design.landing_half', '"half", design.landing_straight'),),
    ),
    Mutation(
        "landing between two runs in line",
        "turn",
        (("usable_parts.py", '"straight", design.landing_straight', '"straight", design.landing_half'),),
    ),
    Mutation(
        "length of the bottom space",
        "turn",
        (("usable_parts.py", "bottom_length = design.bottom.length_m", "bottom_length = 0.6"),),
    ),
    Mutation(
        "width of the bottom space",
        "bound 89",
        (("usable_parts.py", "bottom_width = max(width, design.bottom.width_m)", "bottom_width = width"),),
    ),
    Mutation(
        "rails by slope",
        "bound 43",
        (("tables.py", "handrail_slope=design.rails_slope", "handrail_slope=NO_LIMIT_M"),),
    ),
    Mutation(
        "rails by the plate's slope",
        "bound 43",
        (("law_kernel.py", "or fall > numbers.handrail_slope * reach + E", "or fall > 9.0"),),
    ),
    Mutation(
        "rails by height that rules ask",
        "bound 7",
        (("tables.py", "design.guard_drop_m, design.rails_drop_m)", "design.guard_drop_m)"),),
    ),
    Mutation(
        "guards of runs that rules ask",
        "bound 6",
        (("tables.py", "design.guard_drop_m, design.rails_drop_m)", "design.rails_drop_m)"),),
    ),
    Mutation(
        "guards of landings that rules ask",
        "bound 6",
        (
            (
                "tables.py",
                "site.wishes.rail_landings_above_m, design.guard_drop_m, design.rails_rise_m",
                "site.wishes.rail_landings_above_m, design.rails_rise_m",
            ),
        ),
    ),
    Mutation(
        "headroom that rules ask",
        "bound 7",
        (("tables.py", "max(zone.headroom_m, headroom_m)", "zone.headroom_m"),),
    ),
)
