"""The live columns of Feed kinds, of Feedings, from what was given to status word, and of Feed order."""

from apiarybook.handbook.status import COLD, MANY_AT_ONCE, MORE_THAN_FEEDER, not_used
from apiarybook.layout.formulas.parts import (
    SYRUP_ROW,
    at,
    chain,
    compared,
    either,
    interpolated,
    match,
    nobody_typed,
    number_words,
    ripening,
)
from apiarybook.layout.type_here import FEEDINGS
from apiarybook.layout.words import HOME_MIXED

MIX = "mix-without-masses"
DAY = "INT([date])"
MIXED = "AND(ISNUMBER([sugar]),ISNUMBER([water]))"
LIQUID = f'{at("Feed kinds.form", "[feed_row]")}="liquid"'
TYPE = at("Standing.type_row", "[own_row]")
INTO = at("Colonies.united_into", "[own_row]")
MEMBER = match("[member]", "Members.member")
ORDERS = f'IF({MEMBER}=0,1,IF({at("Members.orders", MEMBER)}="no",0,1))'
AUTUMN_DENSITY = "INDEX([Feed kinds.density],MATCH({autumn_feed},[Feed kinds.name],0))"


def _unripe(days: str) -> str:
    return f"[water_off]/{ripening(days, '[date]')}"


UNRIPE_NOW = _unripe(f"{{as_at}}-{DAY}")


def _against(source: str, fed: str, unripe: str, recent: str, left: str) -> dict[str, str]:
    """What a feed is to its colony's evidence: given after it, or unripe and lately given on its day."""
    seen, order = (at(f"Standing.{source}_{what}", "[colony_row]") for what in ("day", "occasion"))
    after, outside = f"[after_{source}]", f"OR([usable]=0,[after_{source}]=1)"
    return {
        f"after_{source}": f"IF([usable]=0,0,IF({DAY}>{{as_at}},0,"
        f"IF(OR({DAY}>{seen},AND({DAY}={seen},{order}=0)),1,0)))",
        fed: f"IF({after}=1,[stores],0)",
        unripe: f"IF({outside},0,IF(OR({DAY}>{{as_at}},{seen}<[joined]),0,{_unripe(f'{seen}-{DAY}')}))",
        recent: f"IF({outside},0,IF(OR({DAY}>{{as_at}},{seen}<[joined],{seen}-{DAY}>{{old_evidence}}),0,"
        f"IF({LIQUID},[mass],0)))",
        left: f"IF([{recent}]=0,0,[stores])",
    }


def _of_hive(key: str) -> str:
    return f"IF({TYPE}=0,0,INDEX([Hive types.{key}],{TYPE}))"


def _typed(key: str, column: str) -> str:
    """The row of a word in a list, 0 where it only stands ready."""
    return f"IF({nobody_typed(FEEDINGS)},0,{match(f'[{key}]', column)})"


def _sum(key: str, also: str = "", more: str = "") -> str:
    return f'IF([apiary]="","",{ORDERS}*(SUMIFS([Standing.{key}],[Standing.place_row],#{also}){more}))'


def _packs(mass: str, setting: str) -> str:
    """Parts of packs of what is bought: the sugar of a syrup that is mixed at home; the sum alone is rounded up."""

    def of_feed(key: str) -> str:
        return f"INDEX([Feed kinds.{key}],MATCH({{{setting}}},[Feed kinds.name],0))"

    pack, bought = f"IFERROR({of_feed('pack')},0)", f'IF({of_feed("mixed")}="yes",{of_feed("solids")},1)'
    return f'IF([apiary]="","",IF({pack}>0,{mass}*{bought}/{pack},0))'


def bought(setting: str, otherwise: str) -> str:
    """What is bought of a feed that Settings names: sugar, where it is mixed at home."""
    mixed = f'IFERROR(INDEX([Feed kinds.mixed],MATCH({{{setting}}},[Feed kinds.name],0)),"")'
    return f'IF({mixed}="yes","sugar","{otherwise}")'


MASSES = {"amount": "amount", "sugar": "sugar", "water": "water"}
AT_HOME = f'OR([feed_kind]="{HOME_MIXED}",ISNUMBER([sugar]),ISNUMBER([water]))'
NO_MASS = {key: f'AND({AT_HOME},[{key}]="")' for key in ("sugar", "water")}
NO_MASSES = chain(
    (f"AND({NO_MASS['sugar']},{NO_MASS['water']})", f'"{"; ".join(not_used(key, MIX) for key in NO_MASS)}"'),
    (NO_MASS["sugar"], f'"{not_used("sugar", MIX)}"'),
    last=f'"{not_used("water", MIX)}"',
)
UNREAD = f"OR({','.join(f'ISTEXT([{key}])' for key in MASSES)},{NO_MASS['sugar']},{NO_MASS['water']})"
IN_AMOUNT = f'IF([amount]="",{MIXED},AND(ISNUMBER([amount]),[unit_row]>0))'
GIVEN = (
    f"CHOOSE({at('Units.sort', '[unit_row]')},"
    f"[amount]*{at('Units.factor', '[unit_row]')},"
    f"[amount]*{at('Units.factor', '[unit_row]')}*[density],"
    f"[amount]*{at('Standing.feeder_litres', '[own_row]')}*[density],"
    f"[amount]*{_of_hive('portion_fondant')},"
    f"[amount]*{_of_hive('full_comb')})"
)

LATE = (
    f"AND({LIQUID},{DAY}>{at('Standing.last_liquid_day', '[colony_row]')},"
    f"{at('Standing.winter_starts', '[colony_row]')}>0,{either('[warmest]', '-99')}<{{liquid_warmest}})"
)

MANY_FILLS = (
    f"AND({LIQUID},[mass]>0,ROUND([mass]/[density],6)>ROUND({{fills_at_once}}*"
    f"{at('Standing.feeder_litres', '[own_row]')},6))"
)
MANY_PORTIONS = (
    f'AND({at("Feed kinds.form", "[feed_row]")}="solid",'
    f"{compared('[mass]')}>{compared('{portions_at_once}*' + _of_hive('portion_fondant'))})"
)

OF_FEEDINGS = {
    "own_row": _typed("colony", "Colonies.colony"),
    "colony_row": f'IF([own_row]=0,0,IF({INTO}="",[own_row],IFERROR(MATCH({INTO},[Colonies.colony],0),[own_row])))',
    "joined": "IF([colony_row]=[own_row],0," + at("Colonies.united_on", "[own_row]") + ")",
    "feed_row": _typed("feed_kind", "Feed kinds.name"),
    "unit_row": _typed("unit", "Units.name"),
    "usable": f'IF(OR([held]<>"",NOT(ISNUMBER([date])),[colony_row]=0,[feed_row]=0,{UNREAD}),0,'
    f"IF({IN_AMOUNT},IF({at('Standing.ready', '[colony_row]')}=1,1,0),0))",
    "solids": f"IF([feed_row]=0,0,IF({MIXED},IF([sugar]+[water]>0,[sugar]/([sugar]+[water]),0),"
    f"{at('Feed kinds.solids', '[feed_row]')}))",
    "yields": f"IF([feed_row]=0,0,{at('Feed kinds.yields', '[feed_row]')})",
    "syrup_row": f"IF([feed_row]=0,1,{SYRUP_ROW})",
    "density": f"IF([feed_row]=0,0,{interpolated('[syrup_row]')})",
    "mass": f'IF([usable]=0,0,IF([taken_back]="yes",-1,1)*IF([amount]="",[sugar]+[water],{GIVEN}))',
    "water_off": "IF([usable]=0,0,[mass]*MAX(0,1-[solids]*[yields]/{ripe_solids}))",
    "stores": 'IF([usable]=0,"",[mass]*[solids]*[yields]/{ripe_solids})',
    **_against("evidence", "fed_since", "unripe", "recent", "left_of"),
    **_against("heft", "fed_since_heft", "unripe_at_heft", "recent_at_heft", "left_at_heft"),
    "unripe_now": f"IF(OR([usable]=0,[after_evidence]=1),0,IF({DAY}>{{as_at}},0,{UNRIPE_NOW}))",
    "unripe_since": f"IF([after_evidence]=0,0,{UNRIPE_NOW})",
    "status": chain(
        ('[held]<>""', '"not used before the next run: "&[held]'),
        (f"OR({nobody_typed(FEEDINGS)},COUNTA([date],[colony],[feed_kind],[amount],[unit],[sugar])=0)", '""'),
        ("NOT(ISNUMBER([date]))", '"date?"'),
        ("[colony_row]=0", '"colony?"'),
        ("[feed_row]=0", '"feed kind?"'),
        *((f"ISTEXT([{key}])", number_words(heading, key)) for key, heading in MASSES.items()),
        (f"OR({NO_MASS['sugar']},{NO_MASS['water']})", NO_MASSES),
        (f"NOT({IN_AMOUNT})", '"amount or unit?"'),
        ("[usable]=0", '"apiary or hive type of its colony?"'),
        (f"{DAY}>{{as_at}}", '"later than as at: not counted yet"'),
        ('[asked]<>""', 'IF([is_it_right]="","look again: "&[asked],"answered: counts from the next run")'),
        ('[is_it_right]<>""', '"ok"'),
        (LATE, f'"{COLD}"'),
        (MANY_FILLS, f'"{MORE_THAN_FEEDER}"'),
        (MANY_PORTIONS, f'"{MANY_AT_ONCE}"'),
        last='"ok"',
    ),
}

FEED_KINDS = {
    "density": f'IF([name]="","",{interpolated(SYRUP_ROW)})',
    "stores_share": 'IF([name]="","",[solids]*[yields]/{ripe_solids})',
}

FEED_ORDER = {
    "apiary": 'IF([Apiaries.apiary@]="","",[Apiaries.apiary@])',
    "member": 'IF([Apiaries.member@]="","",[Apiaries.member@])',
    "colonies": 'IF([apiary]="","",COUNTIFS([Standing.place_row],#,[Standing.order_mass],">0")'
    '+COUNTIFS([Standing.place_row],#,[Standing.laid_on],">0"))',
    "forecast": _sum("forecast"),
    "forecast_packs": _packs("[forecast]", "autumn_feed"),
    "change": _sum("change"),
    "liquid": _sum("order_mass", ",[Standing.liquid],1"),
    "liquid_volume": f'IF([apiary]="","",IFERROR([liquid]/{AUTUMN_DENSITY},0))',
    "liquid_fills": _sum("order_fills"),
    "liquid_packs": _packs("[liquid]", "autumn_feed"),
    "solid": _sum("order_mass", ",[Standing.liquid],0", "+SUMIFS([Standing.laid_on],[Standing.place_row],#)"),
    "solid_packs": _packs("[solid]", "solid_feed"),
}

FORMULAS = {"Feed kinds": FEED_KINDS, "Feedings": OF_FEEDINGS, "Feed order": FEED_ORDER}
