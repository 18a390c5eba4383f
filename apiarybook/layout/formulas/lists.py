"""The live columns of the lists and of Feed order."""

from apiarybook.layout.formulas.parts import at, interpolated, match, on_day, syrup_row

REGION = "IFERROR(MATCH({region},[Winter profiles.name],0),1)"
OCTOBER = "DATE({winter},10,15)"
STARTS = at("Winter profiles.winter_starts", REGION)


def _day(block: str, day: str) -> str:
    return on_day(block, day, REGION)


BROOD = "*[bees]/{reference_bees}*{brood_reference_side}"
LIVING = f"[bees]*{_day('bees', OCTOBER)}+{_day('brood', OCTOBER)}{BROOD}*2*{{brood_share}}*{{brood_mass_per_side}}"
COMB = f"[comb_full]-[full_comb]*{_day('brood', STARTS)}{BROOD}/[comb_side]"
EATEN = f"([bees]/{{reference_bees}})^{{size_exponent}}*({_day('eaten', STARTS)}-{_day('eaten', OCTOBER)})"

TODAY = "MAX([Calendar.date^],MIN(MAX([Calendar.date]),IF(ISNUMBER({pin}),INT({pin}),TODAY())))"
"""The day for which the book reckons: pinned, or today; always a day of its winter."""
PIN = 'IF(ISNUMBER({typed_as_at}),{typed_as_at},"")'
"""What is typed as `as at` on Settings, shown where the answers stand; whatever is typed over it holds instead."""

HIVE_TYPES = {
    "comb_full": 'IF([name]="","",[full_comb]*([frames]-[pollen_frames]-1))',
    "target": f'IF([name]="","",[tare]+{LIVING}+[pollen]+MIN([want]+{EATEN},{COMB}))',
    "feed_to": 'IF([name]="","",[target]+{over_comb_full})',
    "believable": 'IF([name]="","",[tare]+[bees]+[pollen]+[comb_full]+{over_comb_full})',
}

FEED_KINDS = {
    "density": f'IF([name]="","",{interpolated("[solids]", syrup_row("[solids]"))})',
    "stores_share": 'IF([name]="","",[solids]*[yields]/{ripe_solids})',
}

MEMBER = match("[member]", "Members.member")
ORDERS = f'IF({MEMBER}=0,1,IF({at("Members.orders", MEMBER)}="no",0,1))'


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


AUTUMN_DENSITY = "INDEX([Feed kinds.density],MATCH({autumn_feed},[Feed kinds.name],0))"

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
