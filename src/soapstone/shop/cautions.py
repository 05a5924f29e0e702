"""Cautions of the safety page; the sheets carry their own where the danger is. Common practice, no source."""

CAUTIONS = (
    (
        "Computed aid, not an approval.",
        "Local vehicle codes, licensed engineers and qualified welders decide. Welded joints that "
        "will be covered: photograph each one first, inspectors can only judge what they see.",
    ),
    (
        "Never under a drivetrain held only by a jack.",
        "Stands or blocks before hands go in. A hoist is rated for more than the mass; its "
        "castors roll on a clean, level floor. The centre of mass is not in the middle: hold the "
        "unit against rolling over.",
    ),
    (
        "Fuel.",
        "Drain and take out tank and lines near the work. Never weld on or beside a fuel system "
        "that is in place, nor on a charged air conditioner.",
    ),
    (
        "Battery and electronics.",
        "Both leads off and insulated, the negative first. A battery gives off hydrogen: take it "
        "out. Earth clamp on bare metal near the weld, control units and cables well away from "
        "it.",
    ),
    (
        "High voltage.",
        "Isolated, discharged and measured dead by somebody qualified for it, before anything is unbolted.",
    ),
    (
        "Airbags and belts.",
        "Switch the system off and wait for it to discharge. Keep heat away from belt anchorages.",
    ),
    (
        "Fumes.",
        "Galvanised steel: strip the zinc far back, its fume makes ill. Paint, underseal and glue "
        "burn to poison. No brake cleaner before an arc: it turns into a deadly gas.",
    ),
    (
        "Fire watch.",
        "Sparks travel. Extinguisher at hand, carpets and trim out, somebody watching for half an "
        "hour to an hour after the last arc.",
    ),
    (
        "Grinding and sawing.",
        "Guards on; eyes, ears and lungs protected; no loose gloves at a drill press or lathe.",
    ),
    (
        "Nothing strained into place.",
        "A mount that is pulled into line with a strap or a bar keeps that force in its bolts and "
        "welds. Cut and correct it.",
    ),
)
"""Danger, and what to do."""
