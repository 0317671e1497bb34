"""One sentence for each word of the trade or of statistics, shown where the word is used.

Sources: dockage and net weight, Canada Grain Act and Canada Grain Regulations, section 1; crush count, Canadian Canola
Growers Association; limits, Canada Grain Regulations, Schedule 3; concentration factor, Canola Council of Canada and
Prairie Agricultural Machinery Institute. The rest are definitions.
"""

HELP = {
    "dockage": "What must be cleaned out before grading, in percent of the delivered weight; it is taken off the "
    "scale weight before anything else.",
    "standing and windrowed": "Standing canola is straight-cut, by the combine where it grew; windrowed canola is "
    "swathed first and picked up later.",
    "one moisture and as sold": "Yield for comparing brings every load to the same moisture, so that dry and tough "
    "canola stand on the same footing; yield as sold is the weight that was paid for.",
    "points": "Percentage points: from 2 % to 3 % is one point.",
    "green seed and crush count": "Green seed is the share of crushed seeds that are distinctly green right through; "
    "a sample of 500 seeds is small, so the count carries a range of its own.",
    "within the limits as counted": "The counts typed here would meet the limits of that grade, but the grade on the "
    "ticket is the one that holds.",
    "recount": "How often another 500 seeds of the same crop would keep the limit, going by your count and by how "
    "little one count tells; graders differ too.",
    "concentration factor": "The width cut divided by the width of the discharge: losses lie that many times thicker "
    "in a pan behind the combine than on the field.",
    "shatter": "Seed on the ground because pods opened by themselves, in wind or when touched, before or at harvest.",
    "field-year": "One field in one crop year: loads, samples and strips inside it are averaged first, because they "
    "share its soil and its weather.",
    "these fields and years to come": "The first asks what happened on the fields and years on record, the second "
    "what to expect in other weather; on the same pairs the second is never surer than the first.",
    "interval": "A range worked out so that, at 95 %, it takes in the true difference 95 times in a hundred.",
    "level": "How often ranges made this way take in the true difference; at 95 %, one in twenty misses it.",
    "margin": "The smallest difference that would change what you do; a smaller one counts as the same in practice.",
    "basis": "Halves and strips of one field share its soil and history and two separate fields do not, so where "
    "enough fields were cut both ways the answer rests on those alone, with the others shown beside it.",
    "main measure": "The one question that was asked beforehand; the others are judged together, because of ten "
    "measures one can easily look different by luck.",
    "bad year": "A year with frost, or with wind of at least this speed, between cutting and combining; while none is "
    "on record the answer for years to come cannot know what such a year does.",
    "exact test": "How often a difference this large would come up if standing and windrowed were swapped at random "
    "within each field-year; it assumes no bell curve.",
    "what could have been seen": "The smallest true gap that records like these would find in 8 of 10 cases; a "
    "smaller one may be there and stay hidden.",
    "drawn by lot": "A coin or a drawn number decided which part was cut which way, so that habit and hope could not.",
    "partial budget": "It counts only what changes: what standing adds and saves, less what it costs and gives up.",
    "present value": "What money of later years is worth today, after the interest it could have earned meanwhile.",
}
