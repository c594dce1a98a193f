"""The cautions that stand beside a dish made ahead, in our own words, each deferring to the local code.

The figures are those of the US model Food Code, sections 3-501.14 and 3-403.11 (as adopted in state texts), and of US home
advice (3 to 4 days); other authorities differ. None of this is an approval of a procedure.
"""

from __future__ import annotations

import re

from spoonline.flow import NOT_CLINICAL as NOT_CLINICAL

COOLING = (
    "Chill within 2 hours: thin layers of about 2.5 cm, or a stirred ice bath. The US model Food Code asks for 57 to 21 C "
    "(135 to 70 F) within 2 hours and 57 to 5 C (135 to 41 F) within 6 hours in all; check with a probe at the centre."
)
KEEPING = "Keep at 5 C (41 F) or below and use within 3 to 4 days at home, counting the day of cooking as day 1."
REHEATING = (
    "Reheat until all parts reach 74 C (165 F), stirring; whisk, then judge the thickness. Reheat a portion once only."
)
LOCAL_CODE = "Your local food code or inspector decides and may be stricter; food businesses follow their licensed procedure and date marks."
HOT_LIQUID = (
    "Hot thick liquids spit and hold their heat: puree in small batches with the lid vented and covered by a cloth."
)
PRESSURE = (
    "Pressure cooker: fill to 2/3 at most (1/2 for puree, grain, pulses), let a thick food release by itself, open away from you when "
    "the pressure is gone. Its cooking times are no preserving times: jars need a tested process."
)
HOT_SUGAR = (
    "Hot sugar (150 to 180 C) sticks and burns deeply: a dry deep pan, children away, off the heat before liquid goes in, and then warm "
    "and little by little because it spits steam. A bowl of cold water stands ready; never taste it hot."
)
YOLK = (
    "Egg yolk is stirred in at service only, off the boil (about 82 C with cream, below 85 C), and not kept: a starch dish with "
    "yolk in it can go liquid in the cold unless it was boiled 2 minutes with the yolk. Follow your local code for eggs."
)
ALLERGENS = "Prompts from the ingredient list, not a clearance: read every label, and follow your local allergen law."

MADE_AHEAD: tuple[str, ...] = (COOLING, KEEPING, REHEATING, LOCAL_CODE)

# What a step says, and what belongs beside it (common practice; cooling and reheating by the model code above).
_BESIDE = (
    (re.compile(r"\b(?:puree|pur\u00e9e|blend|liquidi[sz]e|blitz)", re.IGNORECASE), HOT_LIQUID),
    (re.compile(r"\bpressure", re.IGNORECASE), PRESSURE),
    (re.compile(r"\b(?:caramel|(?:boil|melt|brown)\w*(?: the)? sugar|sugar syrup|praline)", re.IGNORECASE), HOT_SUGAR),
    (re.compile(r"\b(?:chill|cool|ice bath|refrigerat)", re.IGNORECASE), COOLING),
    (re.compile(r"\breheat|\bwarm (?:up|through)", re.IGNORECASE), REHEATING),
    (re.compile(r"\b(?:yolk|liaison)", re.IGNORECASE), YOLK),
)


def cautions_for(step: str) -> tuple[str, ...]:
    """Find the cautions that belong beside a step of the method; an empty answer is no approval.

    Examples
    --------
    >>> cautions_for("Puree until smooth.") == (HOT_LIQUID,), cautions_for("Peel the pears.")
    (True, ())
    """
    return tuple(text for pattern, text in _BESIDE if pattern.search(step))
