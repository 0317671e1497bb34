"""The usual cautions, each said where somebody meets the risk: beside the boxes, under the numbers, on paper.

Sources: interval, residues and contracts, Canola Council of Canada and the labels themselves; that windrowing counts as
the cut is common practice, no source. Heating: Canola Council of Canada, 7 September 2017, and "Factors that increase
canola storage risk". Machines: the usual rules of farm safety, common practice, no source; they give way to the
operator's manual.
"""

LABEL = (
    "Pre-harvest products: the label comes first (rate, stage, days to the first cut, re-entry, distance from water). "
    "Windrowing counts as the cut. Then come local rules and your buyer's contract. Ask a licensed applicator or a "
    "professional agrologist. These records recommend no product."
)
PANS = (
    "Pans: shut down, take the key out and wait until every part has stopped. Never reach or throw a pan near a "
    "running machine; one that drops from a holder is the safe kind. Engines are hot and dry chaff burns. Follow the "
    "operator's manual, and keep a second person in sight."
)
