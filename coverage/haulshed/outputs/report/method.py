"""The method in words and formulas, as the report prints it."""

METHOD = (
    (
        "Roads. Every public way that tankers may use is driven at the least of the speed for "
        "its class, its posted limit and the highest speed set, slower where it is unpaved. A "
        "leg is the quickest way between a fill site and the place where a driveway meets the "
        "road, plus a fixed time for gathering speed and turning."
    ),
    (
        "Fleet. A unit counts if it is called and is there in time. All counted tankers over "
        "all fill sites within reach are shared out so that the flow is as large as it can be: "
        "a linear programme, solved exactly for every property. No tanker works more than all "
        "the time, no fill position serves two at once, no source gives more than its flow and "
        "its volume with recharge, and supply line and pump carry it."
    ),
    (
        "Nurse operation. Tankers pump off into the supply line one after another; nothing "
        "bridges a gap. The flow is the largest at which the tankers have the time to keep the "
        "line full. Like tankers on like trips hold it without a gap; where tanks or trips "
        "differ it is an upper bound, and what is held is the clock's figure. One tanker alone "
        "holds none."
    ),
    (
        "Dump site. Portable tanks bridge the gaps, so the flow is the average of the loop, an "
        "upper bound where tankers come in bunches that the tanks do not bridge. One engine "
        "attacks and one drafts at the dump site."
    ),
    (
        "Answer. The needed flow, by the method named under the assumptions, is set against a "
        "hose line from a fill site near enough, the nurse operation and the dump site, in this "
        "order. Short: water can be hauled, but not enough. None: none can be hauled."
    ),
    (
        "Clock and chance. The clock plays each incident from dispatch on, minute by minute, at "
        "constant times; then it is drawn again and again with times that vary and units that "
        "stay away. A flow is held if the last hour has no gap that counts; gaps before it do "
        "not count."
    ),
    ("Flows are rounded down: they are planning bounds at constant times."),
)

FORMULAS = (
    "leg            t = miles / speed × 60 + fixed time            [min]",
    "usable load    U = (1 − loss share) × tank                    [gal]",
    "filling        F = handling + tank / fill rate                [min]",
    "dumping        D = handling + U / dump rate                   [min]",
    "round trip     C = D + empty leg + F + loaded leg             [min]",
    "one tanker     Q = U / C                                      [gpm]",
    "fleet          Q = max Σ x·U/C   within tankers, positions, sources, line",
    "nurse          Σ 1 / (1 + Q·A/U) = 1   A: time away from the line",
    "friction       loss = c × (Q/100)² × (lay/100)                [psi]",
    "hydrant        Q = test flow × ((static − 20)/(static − residual))^0.54",
)

SOURCES = (
    ("Leg time T = 0.65 + 1.7 D, where chosen", "ISO, Response-Time Considerations"),
    ("Tank less 10 %, 250 gpm for 2 hours", "ISO, Alternative Water Supplies"),
    ("Needed flow by the volume method", "NFPA 1142 (values from memory)"),
    ("Friction loss by hose diameter", "training slides, records.rpcity.org id 366543"),
    ("Hydrant flow at 20 psi", "hydrant test formula, tkolb.net/WatSup"),
)
