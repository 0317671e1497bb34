"""One sentence for each word of the trade or of statistics, shown where the word is used.

Sources: dockage and net weight, Canada Grain Act and Canada Grain Regulations, section 1; crush count, Canadian Canola
Growers Association; limits, Canada Grain Regulations, Schedule 3; concentration factor, Canola Council of Canada and
Prairie Agricultural Machinery Institute. The rest are definitions.
"""

HELP = {
    "dockage": "What must be cleaned out before grading, in percent of the delivered weight; it is taken off the "
    "scale weight before anything else.",
    "one moisture and as sold": "Yield at one moisture puts dry and tough loads on the same footing, for comparing; "
    "yield as sold is the weight that was paid for, for money.",
    "green seed and crush count": "Green seed is the share of crushed seeds that are distinctly green right through; "
    "a sample of 500 seeds is small, so the count carries a range of its own.",
    "within the limits as counted": "The counts typed here would meet the limits of that grade, but the grade on the "
    "ticket is the one that holds.",
    "recount": "How often another 500 seeds of the same crop would keep the limit, going by your count and by how "
    "little one count tells; graders differ too.",
    "concentration factor": "The width cut divided by the width of the discharge: so many times thicker do the losses "
    "lie in a pan behind the combine.",
    "shatter": "Seed that falls to the ground before or during harvest because pods open by themselves, in wind or "
    "when touched.",
    "field-year": "One field in one crop year: loads, samples and strips inside it are averaged first, because they "
    "share its soil and its weather.",
    "these fields and years to come": "The first asks what happened on the fields and years on record, the second "
    "what to expect when the weather is another; the second is always harder to answer.",
    "interval": "The range in which the true difference lies if the usual run of luck held, which it does as often as "
    "the level says.",
    "level": "How often ranges made this way hold the true difference: at 95 in 100, one range in twenty misses it.",
    "margin": "The smallest difference that would change what you do; anything inside it counts as the same in "
    "practice.",
    "basis": "Halves and strips of one field share its soil and history and two separate fields do not, so where "
    "enough fields were cut both ways the answer rests on those alone, with the others shown beside it.",
    "main measure": "The one question that was asked beforehand; the others are judged together, because of ten "
    "measures one can easily look different by luck.",
    "bad year": "A year with frost, or with wind of at least this speed, between cutting and combining; while none is "
    "on record the answer for years to come cannot know what such a year does.",
    "exact test": "Asks how often a difference this large would come up if standing and windrowed were swapped at "
    "random within each field-year, with no bell curve assumed.",
    "what could have been seen": "The smallest true gap that records like these would find in 8 of 10 cases; a "
    "smaller one may be there and stay hidden.",
    "drawn by lot": "A coin or a drawn number decided which part was cut which way, so that habit and hope could not.",
    "partial budget": "Only what changes is counted: what standing adds and saves, less what it costs and gives up.",
    "present value": "What money of later years is worth today, after the interest it could have earned meanwhile.",
}
