"""Which words in a heading mean which field: a first guess, which people correct in the mapping file."""

import re
from functools import cache

MONEY = r"amount|price|cost|total|subtotal|tax|vat|rate|balance|paid|debit|credit|net|gross|due|terms|ext|extended|account code|gl|class"

VISIT_WORDS = (
    ("visit.date", r"(?:visit |service |invoice |inv |txn |doc |work |call |job )?date(?: of (?:service|visit|invoice|call))?|day|when|datum|serviced|date in"),
    ("visit.time", r"time|time in|in|arr(?:ived?|ival)?|start(?:ed)?|from"),
    ("visit.left", r"time out|out|left|finish(?:ed)?|end|dep(?:art(?:ed|ure)?)?|until"),
    ("visit.technician", r"tech(?:s|nicians?)?|who|by|initials?|done by|serviced by|employee|engineer|mechanic|rep|sales rep|staff|person|name of tech\w*|crew"),
    ("visit.reference", r"(?:invoice|inv|doc(?:ument)?|ticket|wo|work order|job|ref(?:erence)?|order|txn|slip|num)(?: (?:no|number|num|nr|id))*"),
    ("visit.kind", r"(?:visit |call |service |job |work )?(?:type|kind)(?: of (?:visit|call|service|job))?|pm svc|category"),
    ("visit.complaint", r"complaint|problem|issue|reason|reason for call|reported|symptom|fault|called for|trouble"),
    ("visit.advice", r"advice|recommend(?:ation|ed)?s?|follow up|to do|next"),
    ("visit.part_used", r"parts?|parts? (?:used|replaced|installed|fitted|changed)|materials?|replaced|item used"),
    ("visit.work", r"work|work (?:done|performed|description)|description|desc|service|service performed|action(?:s| taken)?|what|what (?:was )?done|details?|job|done|item description|line description|memo description"),
    ("visit.internal_note", r"notes?|comments?|remarks?|memo|other|observations?|misc|log|entry|text|message|info"),
    ("visit.signed_by", r"signed(?: by)?|signature"),
    ("visit.outcome", r"outcome|result|status"),
)  # fmt: skip
READING_WORDS = (
    ("reading.bath_temperature", r"(?:glycol )?(?:bath|tank|reservoir|res|sump|bank)(?: temp(?:erature)?)?|glycol temp(?:erature)?|temp(?:erature)?|gly temp"),
    ("reading.glycol_supply_temperature", r"(?:glycol )?(?:supply|out(?:let)?|leaving|line out|feed)(?: temp(?:erature)?)?|temp out"),
    ("reading.glycol_return_temperature", r"(?:glycol )?(?:return|ret|in(?:let)?|entering|line in)(?: temp(?:erature)?)?|temp in"),
    ("reading.beer_temperature_at_tap", r"(?:beer|pour|tap|glass|faucet)(?: temp(?:erature)?)?|beer at tap"),
    ("reading.cooler_temperature", r"(?:walk in|cooler|keg room|cold room|cellar)(?: temp(?:erature)?)?"),
    ("reading.ambient_temperature", r"(?:ambient|room|air|outside)(?: temp(?:erature)?)?"),
    ("reading.glycol_strength", r"(?:glycol )?(?:brix|strength|conc(?:entration)?|mix|ratio|refractometer|refrac\w*|freeze (?:point|pt)|protection)(?: percent)?|glycol(?: percent)?|bx|percent glycol|gly"),
    ("reading.suction_pressure", r"suction(?: press(?:ure)?)?|low side|lo side|low(?: press(?:ure)?)?"),
    ("reading.discharge_pressure", r"(?:head|discharge|high side|hi side|high)(?: press(?:ure)?)?"),
    ("reading.pump_pressure", r"pump press(?:ure)?|loop press(?:ure)?|press(?:ure)?"),
    ("reading.current", r"amps?|amperage|current|draw|amp draw|comp(?:ressor)? amps?|pump amps?|fan amps?"),
    ("reading.supply_voltage", r"volts?|voltage|line volt(?:s|age)?|supply volt(?:s|age)?"),
    ("reading.glycol_ph", r"(?:glycol )?ph"),
    ("reading.bath_level", r"(?:bath |glycol )?level"),
    ("reading.glycol_flow", r"(?:glycol )?flow(?: rate)?"),
    ("reading.controller_set_point", r"set ?point|sp|set|setting|set temp"),
)  # fmt: skip
TASK_WORDS = (
    ("task.condenser_clean", r"(?:clean(?:ed)? )?(?:cond(?:enser)?(?: coil)?|coil)s?(?: clean(?:ed|ing)?)?|clean(?:ed)?|pm done"),
    ("task.strainer_clean", r"(?:clean(?:ed)? )?(?:strainer|screen)(?: clean(?:ed)?)?"),
    ("task.glycol_change", r"glycol (?:change|changed|replaced)|(?:change|new) glycol"),
    ("task.glycol_strength_check", r"(?:glycol|strength|brix) check(?:ed)?"),
    ("task.bath_level_check", r"level check(?:ed)?|topped up"),
    ("task.pump_check", r"pump(?: check(?:ed)?| ok)?|check(?:ed)? pump"),
    ("task.electrical_check", r"electrical(?: check(?:ed)?)?|elec|wiring"),
    ("task.controller_check", r"controller(?: check(?:ed)?)?|thermostat|t stat"),
    ("task.trunk_check", r"trunk(?: line)?(?: check(?:ed)?)?|lines? check(?:ed)?|insulation"),
)  # fmt: skip
PLACE_WORDS = (
    ("customer.code", r"(?:customer|cust|client|account|acct|debtor)(?: (?:no|number|num|code|id|nr))+"),
    ("customer.name", r"customer|cust|client|account|acct|bill to|(?:customer|client|account|cust)(?: full)? name|company|owner|sold to|name"),
    ("site.code", r"(?:site|location|loc|store)(?: (?:no|number|num|code|id|nr))+"),
    ("site.name", r"(?:job )?site|location|loc|place|venue|bar|restaurant|pub|where|ship to|premises|store|(?:site|location|store|bar) name|account location"),
    ("unit.tag", r"unit|tag|unit (?:no|number|num|id|tag|code|nr)|number|asset(?: (?:no|number|id|tag))*|equip(?:ment)?(?: (?:no|number|id))*|glycol unit|chiller|chiller (?:no|number|id)|sticker|system|machine|gu|gu (?:no|number)|(?:power |glycol )?pack(?: (?:no|number|num|id))*|pp(?: (?:no|number|num))*|unit name|which unit|no"),
    ("unit.place", r"unit location|where (?:it |unit )?(?:sits|is|stands)|position|nickname|spot|where in building|area|room name|place in building"),
)  # fmt: skip
FLEET_WORDS = (
    *PLACE_WORDS,
    ("customer.contact", r"contact(?: (?:person|name))?|manager|attn"),
    ("customer.phone", r"(?:contact )?(?:phone|tel|telephone|ph|cell|mobile)(?: (?:no|number))*"),
    ("customer.email", r"e ?mail|e mail address"),
    ("site.address", r"(?:site |street |service |ship to |location )?(?:address|addr|street)"),
    ("site.access", r"access|key|keys|hours|gate code|parking|access notes?"),
    ("site.time_zone", r"time ?zone|tz"),
    ("unit.maker", r"make|maker|manufacturer|mfr|mfg|brand"),
    ("unit.model", r"mod(?:el)?(?: (?:no|number))*|(?:make|maker|mfg|brand) (?:and )?mod(?:el)?|type|unit model"),
    ("unit.serial", r"(?:serial|ser|s n|sn)(?: (?:no|number|num))*"),
    ("unit.installed_on", r"install(?:ed)?(?: (?:on|date))?|date installed|in service|start ?up(?: date)?|put in|since|year"),
    ("unit.installed_by", r"installed by|installer"),
    ("unit.retired_on", r"retired(?: on)?|removed(?: on)?|out of service|scrapped"),
    ("unit.bath.volume", r"(?:bath|tank|reservoir)? ?(?:volume|capacity|size|gal(?:lon)?s?|lit(?:er|re)s?)|bath|tank|reservoir"),
    ("unit.bath.set_point", r"set ?point|set|setting"),
    ("unit.bath.glycol", r"glycol(?: type)?"),
    ("unit.bath.target_strength", r"target(?: strength| brix)?"),
    ("unit.refrigeration.refrigerant", r"refrigerant|gas|freon|ref(?:rig)?"),
    ("unit.refrigeration.charge", r"charge"),
    ("unit.supply.voltage", r"volts?|voltage|supply"),
    ("technician.name", r"tech(?:nician)?|employee"),
)  # fmt: skip
UNIT_TOKENS = (
    ("degF", r"f|fahrenheit|deg f"), ("degC", r"c|celsius|deg c"), ("Brix", r"brix|bx"), ("psi", r"psi|psig|lbs"),
    ("kPa", r"kpa"), ("bar", r"bar"), ("A", r"a|amps?"), ("V", r"v|volts?"), ("%", r"percent|pct"), ("gal", r"gal|gallons?"),
    ("L", r"l|lit(?:er|re)s?"), ("oz", r"oz"), ("lb", r"lb|lbs"), ("g", r"g|grams?"), ("kg", r"kg"), ("gal/h", r"gph"),
    ("gal/min", r"gpm"), ("L/min", r"lpm"), ("vol%", r"vol percent"),
)  # fmt: skip
GENERIC_SHEET = re.compile(
    r"(?:sheet|tabelle|table|feuil|list|log|data|notes?|units?|equipment|customers?|visits?|service|export|report|master|main|all|csv|history|\d{2,4})[ _\-]*\d*(?:[ _\-]*(?:log|list|notes?|data|visits?|\d{2,4}))*",
    re.IGNORECASE,
)
NO_DATA = re.compile(
    r"\bold(?=\W*$|\W+(?:list|log|data|sheet|version|notes?|units?|customers?|visits?)\b)|"
    r"\b(?:copy|backup|price ?s?|price ?list|read ?me|template|scratch|draft|to ?do|summary|pivot|chart)\b",
    re.IGNORECASE,
)
KIND_WORDS = (
    ("service_call", r"call|svc|service|repair|emerg\w*|breakdown|down|trouble|warm|sc|s"),
    ("follow_up", r"follow|f u|return|recheck"),
    ("installation", r"install\w*|start ?up|new"),
    ("maintenance", r"pm|maint\w*|prevent\w*|clean\w*|routine|sched\w*|inspection|m"),
)


@cache
def compiled(words: tuple[tuple[str, str], ...]) -> tuple[tuple[str, "re.Pattern[str]"], ...]:
    """The patterns of a list of words."""
    return tuple((name, re.compile(pattern, re.IGNORECASE)) for name, pattern in words)


def matching(words: tuple[tuple[str, str], ...], text: str) -> list[str]:
    """What a heading can mean, in the order of the list."""
    return [name for name, pattern in compiled(words) if pattern.fullmatch(text)]
