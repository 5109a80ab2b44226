"""Runs of published values: exactly on their limit, inside it and just off it, with where they were read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from optimizer.rulebook.facts import JobFacts

IN: Final = 0.0254
FT: Final = 0.3048
NEW: Final = JobFacts(works="new")
SHORT_OF_SPACE: Final = JobFacts(works="existing", space_limited="yes")


@dataclass(frozen=True, slots=True)
class Published:
    """A run of a published value, one inside it, and one or more just off it (rise, plan; metres)."""

    name: str
    rules: str
    on: tuple[float, float]
    inside: tuple[float, float]
    off: tuple[tuple[float, float], ...]
    source: str
    facts: JobFacts = NEW


RUNS: Final = (
    Published(
        "30 in at 1:12 is one run of 30 ft",
        "ada-2010",
        (30 * IN, 30 * FT),
        (29 * IN, 30 * FT),
        ((30 * IN, 29.99 * FT), (30.01 * IN, 31 * FT)),
        "ADA 405.2 and 405.6; 1991 figure 16: dimensions.com/element/ramp-slopes",
    ),
    Published(
        "30 in at 1:16 is 40 ft",
        "ada-2010",
        (30 * IN, 40 * FT),
        (29 * IN, 40 * FT),
        ((30.01 * IN, 40.1 * FT),),
        "ADAAG 1991 figure 16, naffainc.com; the rise of 30 in is 405.6 of 2010",
    ),
    Published(
        "a 6 in step: 3 ft is too steep, 6 ft is not",
        "ada-2010",
        (6 * IN, 6 * FT),
        (6 * IN, 7 * FT),
        ((6 * IN, 3 * FT), (6 * IN, 5.99 * FT)),
        "US DOJ checklist for polling places 2016, corada.com, ramps",
    ),
    Published(
        "existing site short of space: 1:10 to 6 in",
        "ada-2010",
        (6 * IN, 60 * IN),
        (5 * IN, 50 * IN),
        ((6.1 * IN, 61 * IN), (6 * IN, 59.9 * IN)),
        "ADA Table 405.2",
        SHORT_OF_SPACE,
    ),
    Published(
        "existing site short of space: 1:8 to 3 in, never steeper",
        "ada-2010",
        (3 * IN, 24 * IN),
        (2 * IN, 16 * IN),
        ((3.1 * IN, 24.8 * IN), (3 * IN, 23.7 * IN), (1 * IN, 7.9 * IN)),
        "ADA Table 405.2 and its note",
        SHORT_OF_SPACE,
    ),
    Published(
        "24 in at 1:12 is 24 ft",
        "ada-2010",
        (24 * IN, 24 * FT),
        (24 * IN, 25 * FT),
        ((24 * IN, 23.99 * FT),),
        "ALS Association chapter note, alsassistivetechnology.blogspot.com/2011/12",
    ),
    Published(
        "England: a going of 10 m at 1:20 rises 500 mm",
        "england-adm-2",
        (0.5, 10.0),
        (0.49, 10.0),
        ((10.01 / 20, 10.01), (0.5, 9.99)),
        "AD M vol. 2 Table 1 and 1.26c",
    ),
    Published(
        "England: a going of 5 m at 1:15 rises 333 mm",
        "england-adm-2",
        (5 / 15, 5.0),
        (0.33, 5.0),
        ((5 / 15, 4.99), (5.01 / 15, 5.01)),
        "AD M vol. 2 Table 1",
    ),
    Published(
        "England: a going of 2 m at 1:12 rises 166 mm",
        "england-adm-2",
        (2 / 12, 2.0),
        (0.166, 2.0),
        ((2 / 12, 1.99), (2.01 / 12, 2.01)),
        "AD M vol. 2 Table 1",
    ),
    Published(
        "England: 1:14 at 4 m",
        "england-adm-2",
        (4 / 14, 4.0),
        (0.285, 4.0),
        ((4 / 14, 3.99), (4.01 / 14, 4.01)),
        "AD M vol. 2 Table 1, note",
    ),
    Published(
        "England: 1:19 at 9 m",
        "england-adm-2",
        (9 / 19, 9.0),
        (0.473, 9.0),
        ((9 / 19, 8.99), (9.01 / 19, 9.01)),
        "AD M vol. 2 Table 1, note",
    ),
    Published(
        "Germany: 6 % over 6.00 m is 36 cm",
        "din-18040-1",
        (0.36, 6.0),
        (0.35, 6.0),
        ((0.361, 6.0), (0.36, 5.99), (0.36, 6.01)),
        "DIN 18040-1 4.3.8.2, Leitfaden Barrierefreies Bauen 5.2",
    ),
    *(
        Published(
            f"Luxembourg: {percent} % for {length_m:g} m",
            "luxembourg-a3",
            (percent / 100 * length_m, length_m),
            (percent / 100 * length_m - 0.002, length_m),
            (
                (percent / 100 * length_m + 0.0001, length_m),
                (percent / 100 * (length_m + 0.01), length_m + 0.01),
            ),
            "annex A.3: L = 14 - 4P/3",
        )
        for percent, length_m in ((3.0, 10.0), (4.5, 8.0), (6.0, 6.0))
    ),
    Published(
        "Australia: 1:14 over 9 m is 642.9 mm",
        "as-1428.1",
        (9 / 14, 9.0),
        (0.642, 9.0),
        ((9.01 / 14, 9.01), (9 / 14, 8.99)),
        "AS 1428.1 10.3, asnpl.com.au; the rise is derived",
    ),
    Published(
        "Australia: 1:20 over 15 m is 750 mm",
        "as-1428.1",
        (0.75, 15.0),
        (0.749, 15.0),
        ((0.7505, 15.01), (0.75, 14.99)),
        "AS 1428.1 10.3, asnpl.com.au; the rise is derived",
    ),
    Published(
        "Australia: a step ramp of 1900 mm at 1:10 rises 190 mm",
        "as-1428.1",
        (0.19, 1.9),
        (0.18, 1.9),
        ((0.191, 1.91), (0.19, 1.89)),
        "AS 1428.1 10.6, ergonconsulting.com.au",
    ),
    Published(
        "Australia: a threshold ramp of 280 mm at 1:8 rises 35 mm",
        "as-1428.1",
        (0.035, 0.28),
        (0.034, 0.28),
        ((0.036, 0.288), (0.035, 0.279)),
        "AS 1428.1 10.5, ergonconsulting.com.au",
    ),
    Published(
        "New Zealand: 750 mm at 1:12 is a run of 9.0 m",
        "nz-d1-as1",
        (0.75, 9.0),
        (0.74, 9.0),
        ((0.75, 8.99), (0.751, 9.1)),
        "D1/AS1, Build 151, buildmagazine.org.nz",
    ),
    Published(
        "trail: 1:10 for 30 ft",
        "aba-1017",
        (3 * FT, 30 * FT),
        (2.9 * FT, 29 * FT),
        ((3.1 * FT, 31 * FT),),
        "ABA 1017.7.1, federal summary, corada.com",
    ),
    Published(
        "trail: 1:8 for 10 ft",
        "aba-1017",
        (10 / 8 * FT, 10 * FT),
        (9 / 8 * FT, 9 * FT),
        ((11 / 8 * FT, 11 * FT), (10 / 8 * FT, 9.99 * FT)),
        "ABA 1017.7.1, federal summary, corada.com",
    ),
    Published(
        "outdoor access route: 1:12 for 50 ft, 1:10 the steepest",
        "aba-1016",
        (50 / 12 * FT, 50 * FT),
        (4 * FT, 49 * FT),
        ((51 / 12 * FT, 51 * FT), (1 * FT, 9.9 * FT)),
        "ABA 1016.7.1, federal summary, bjspark.com",
    ),
    Published(
        "Ireland: 1:12 for 5 m",
        "ireland-tgdm-dwellings",
        (5 / 12, 5.0),
        (0.4, 5.0),
        ((5.01 / 12, 5.01), (5 / 12, 4.99)),
        "TGD M 2010 3.1.2.4(d)",
    ),
    Published(
        "France, existing: 10 % for 2.0 m",
        "france-existing",
        (0.2, 2.0),
        (0.19, 2.0),
        ((0.201, 2.01), (0.2, 1.99)),
        "arrete of 8 December 2014 as in that of 22 January 2026, art. 3",
    ),
    Published(
        "France, existing: 12 % for 0.50 m",
        "france-existing",
        (0.06, 0.5),
        (0.05, 0.5),
        ((0.0612, 0.51), (0.06, 0.499)),
        "arrete of 8 December 2014 as in that of 22 January 2026, art. 3",
    ),
    Published(
        "France, new: 5 % with a landing every 10 m",
        "france-new",
        (0.5, 10.0),
        (0.49, 10.0),
        ((0.5005, 10.01), (0.5, 9.99)),
        "arrete of 20 April 2017, art. 2, notice form",
    ),
)
