"""The usual cautions, each said where somebody meets the risk: beside the boxes, under the numbers, on paper.

Sources: interval, residues and contracts, Canola Council of Canada and the labels themselves; that windrowing counts as
the cut is common practice, no source. Heating: Canola Council of Canada, 7 September 2017, and "Factors that increase
canola storage risk". Entering bins, and the deaths of 2006 to 2015: WorkSafe Saskatchewan, alert; Canadian Agricultural
Safety Association; extension services. Malt buyers: the Council's advice on pre-harvest products. Machines and tired
people: the usual rules of farm safety, common practice, no source; they give way to the operator's manual.
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
HEATING = (
    "Green, tough or damp canola can heat in the bin even when the rest tests dry, and straight-cut canola may carry "
    "green chaff. Cool it, check it often, and ask the Grain Commission or an agrologist (Canola Council of Canada, "
    "2017)."
)
BINS = (
    "Bins: never go into one while grain moves. Bridged grain, a hanging wall and flowing grain bury a person in "
    "seconds. Grain out of condition can mean little oxygen, carbon dioxide and carbon monoxide. If somebody has to go "
    "in: lock the machines out, have the air tested, wear harness and lifeline, keep a second person outside. Local "
    "rules and trained rescuers come first. In Canada 30 people died in grain or silage from 2006 to 2015 (WorkSafe "
    "Saskatchewan; Canadian Agricultural Safety Association)."
)
LONG_DAYS = (
    "The stage of the crop decides when to cut, not this count. Tired operators get hurt: plan for sleep and relief."
)
LEFT_STANDING = (
    "Canola left standing can shatter, and wind or snow can take it. Check the stage before any product goes on. Some "
    "buyers, of malt barley above all, refuse grain that had certain products: ask first."
)
NOT_ADVICE = "These are this farm's own records and assumptions, not financial advice."
GROUPS_ARE_NOT_ADVICE = (
    "These are what the farms of a group recorded, not financial advice; no farm checked another's scales."
)
