"""The live columns of Winter profiles, of Winter rounds, of the last one of each colony, and of Till the flow."""

from apiarybook.handbook.half_months import BEGINS, HALF_MONTHS, half_month
from apiarybook.layout.formulas.parts import (
    AS_AT,
    at,
    day_eaten,
    highest,
    match,
    nobody_typed,
    on_day,
    rank,
    ranked_day,
    ranked_row,
    worked_out,
)
from apiarybook.layout.formulas.weighings import DAY, IN_CALENDAR, OF_WEIGHINGS, TYPE_STOOD, WORD, hand
from apiarybook.layout.machinery import CALENDAR_BLOCKS
from apiarybook.layout.type_later import WINTER_ROUNDS

ALIKE = (
    *("profile_row", "turn", "days_since", "tare", "tare_u", "month_bees", "month_brood", "pollen"),
    *("card_stores", "target"),
)
"""Columns that say of a round what those of the same name say of a weighing."""
NOT_STORES = "[tare]+[feeder_left]+[month_bees]+[month_brood]+[pollen]"
NOW = at("Standing.type_row", "[colony_row]")
BLOCK = f"IF([colony_row]=0,0,IF({NOW}=0,0,INDEX([Hive types.portion_fondant],{NOW})))"
YIELDS = "IFERROR(INDEX([Feed kinds.stores_share],MATCH({solid_feed},[Feed kinds.name],0)),1)"
OF_THE_LIVING = "({bees_spread}*[month_bees])^2+({pollen_spread}*[pollen])^2"

OF_ROUNDS = {key: OF_WEIGHINGS[key] for key in ALIKE} | {
    "colony_row": f"IF({nobody_typed(WINTER_ROUNDS)},0,{match('[colony]', 'Colonies.colony')})",
    "type_row": f"IF([colony_row]=0,0,IFERROR(MATCH({TYPE_STOOD},[Hive types.name],0),0))",
    "usable": 'IF(OR([held]<>"",NOT(ISNUMBER([date])),[type_row]=0,[profile_row]=0),0,'
    f"IF({IN_CALENDAR},IF(IF(ISNUMBER([heft]),[heft]>0,{WORD}),1,0),0))",
    "feeder_left": f'IF([fondant_left]="full",1,IF([fondant_left]="half",0.5,0))*{BLOCK}*(1-{YIELDS})',
    "heft_u": f"IF([usable]=0,0,{hand('spread')})",
    "hefted": f"IF([usable]=0,0,{NOT_STORES}+MAX(0,MIN({at('Hive types.comb_full', '[type_row]')},"
    f"IF(ISNUMBER([heft]),[heft],[target])*{hand('factor')}-({NOT_STORES}))))",
    "dry": f"IF([usable]=0,0,[hefted]-({NOT_STORES}))",
    "dry_u": "IF([usable]=0,0,"
    f"SQRT(([hefted]*[heft_u])^2+[tare_u]^2+({{brood_spread}}*[month_brood])^2+{OF_THE_LIVING}))",
    "kit_u": f"IF([usable]=0,0,SQRT([tare_u]^2+{OF_THE_LIVING}))",
    "rank_heft": f"IFERROR(IF([usable]=0,0,IF({DAY}<={{as_at}},{rank(DAY, '1')},0)),0)",
}


def _last(text: str) -> str:
    found = at(f"Winter rounds.{text}", ranked_row("[rank_round]", "Winter rounds"))
    return f'IF([rank_round]=0,"",{found})'


LAST_ROUND = {
    "rank_round": highest("Winter rounds.rank_heft", "[Standing.here@]*(ROW()={row})"),
    "round_day": f'IF([rank_round]=0,"",{ranked_day("[rank_round]")})',
    **{f"round_{key}": _last(key) for key in ("dry", "dry_u", "kit_u")},
}
"""Of each colony on Colonies: its last round that counts."""

KNOWN = "[Standing.known@]"
PROFILE = "[Standing.profile_row@]"
EATEN_NOW = on_day("eaten", "{as_at}", PROFILE)
ROUNDS = "MAX([Standing.evidence_day@],[Standing.heft_day@])+{round_days}"
BEGIN = "DATE({winter}+1,INT({rounds_begin}/100),MOD({rounds_begin},100))"
DUE = f"MAX({{as_at}},IF({KNOWN}=1,MIN(MAX({ROUNDS},{BEGIN}),[Standing.lasts_to@]-{{fondant_lead}}),{{as_at}}))"


def _day(month: int, day: int) -> str:
    return f"DATE({{winter}}{'+1' if month < BEGINS else ''},{month},{day})"


def _median(month: int, day: int) -> str:
    when = _day(month, day)
    outside = f"OR({KNOWN}=0,{when}<{{as_at}},{when}>[Standing.flow@])"
    return f'IF({outside},"",MAX(0,[start]-[eats]*{on_day("eaten", when, PROFILE)}))'


def _mean(month: int, day: int) -> str:
    shown = f"[Till the flow.{half_month('median', month, day)}]"
    return f'IF([of_apiary]="","",IFERROR(AVERAGEIFS({shown},[Standing.place_row],[place]),""))'


TILL_THE_FLOW = {
    "colony": '[Standing.colony@]&""',
    "apiary": f'IF([Standing.place_row@]=0,"",{at("Apiaries.apiary", "[Standing.place_row@]")})',
    "lasts_to": f'IF({KNOWN}=0,"",[Standing.lasts_to@])',
    "median_out": f'IF({KNOWN}=0,"",{day_eaten(f"MAX({EATEN_NOW},([start]-[Standing.floor@])/[eats])", PROFILE)})',
    "heft_next": f'IF([Standing.phase@]=0,"",IF({DUE}<[Standing.flow@],{DUE},""))',
    "fondant_by": f'IF({KNOWN}=0,"",[Standing.fondant_by@])',
    **{half_month("median", *day): _median(*day) for day in HALF_MONTHS},
    **{half_month("mean", *day): _mean(*day) for day in HALF_MONTHS},
    "start": f"IF({KNOWN}=0,0,[Standing.stores_today@]+[Standing.aged@]*(1-1/SQRT(1+[Standing.own_spread@]^2))"
    f"+[eats]*{EATEN_NOW})",
    "eats": f"IF({KNOWN}=0,0,[Standing.appetite@]/SQRT(1+[Standing.own_spread@]^2))",
}

WINTER_PROFILES = {
    **{f"{block}_now": worked_out(block, AS_AT, "#") for block in CALENDAR_BLOCKS},
    "eaten_by_start": worked_out("eaten", "[winter_starts]", "#"),
}
"""Of each profile what the Calendar says of today, and of the day on which its winter starts."""

FORMULAS = {
    "Winter profiles": WINTER_PROFILES,
    "Winter rounds": OF_ROUNDS,
    "Colonies": LAST_ROUND,
    "Till the flow": TILL_THE_FLOW,
}
