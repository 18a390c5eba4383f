"""The live columns of Standing: evidence, stores today, want, least, verdict, feed and outlook."""

from apiarybook.layout.formulas.parts import (
    SURE,
    Z,
    all_days,
    at,
    chain,
    compared,
    eaten,
    either,
    match,
    on_day,
    within,
    year_day,
)

EVIDENCE = "[evidence_row]"
MOVED_PLACE = '[Colonies.moved_apiary@]<>""'
WAS_SOMEWHERE = (
    "ISNUMBER(MATCH(INDEX([Apiaries.profile],MATCH([Colonies.apiary_before@],[Apiaries.apiary],0)),"
    "[Winter profiles.name],0))"
)
AUTUMN_SHARE = "IFERROR(INDEX([Feed kinds.stores_share],MATCH({autumn_feed},[Feed kinds.name],0)),0)"
OLD = f"AND({{as_at}}-[evidence_day]>{{old_evidence}},{within('{as_at}', 'evidence_ages')})"
TYPE = "[type_row]"
BEES = at("Hive types.bees", TYPE)
SCALED = "[size]*[strength]"
EATS = "[appetite]"
NEVER = '[Colonies.reached@]="never"'
FONDANT_ONLY = '[Colonies.reached@]="fondant only"'
RECENT = "SUMIFS([Feedings.recent],[Feedings.colony_row],#)"
OCCASION = at("Weighings.occasion", EVIDENCE)
LEFT = at("Weighings.feeder_left", EVIDENCE)
RISK = f"ROUND(1-{SURE},6)"
COVER = f"ROUND({SURE},6)"
OUT = "ROUND([chance_out],6)"
SHORT = compared("[short_by]")
WORTH = compared("{least_worth_giving}")
ADVISED = 'OR([verdict]="feed",[verdict]="comb full",[verdict]="fondant later")'
MONTHS = '"Jan","Feb","Mar","Apr","May","Jun","Jul","Aug","Sep","Oct","Nov","Dec"'
LASTS = f'"lasts to "&DAY([lasts_to])&" "&CHOOSE(MONTH([lasts_to]),{MONTHS})&" "&YEAR([lasts_to])'
SPREAD = "[own_spread]"
WHOLE_SPREAD = "SQRT((1+{winter_spread}^2)*(1+{place_spread}^2)*(1+{colony_spread}^2)-1)"


HEFT = "[heft_row]"
HEFT_LEFT = f"IF([round]=1,0,{at('Weighings.feeder_left', HEFT)})"
HEFT_RECENT = "SUMIFS([Feedings.recent_at_heft],[Feedings.colony_row],#)"
HEFT_WATER = f"IF({HEFT_LEFT}=0,1,IF({HEFT_RECENT}>{HEFT_LEFT},1-{HEFT_LEFT}/{HEFT_RECENT},0))"
LATEST_HEFT = "MATCH([rank_heft],[Weighings.rank_heft],0)"
# evidence of two kinds: what both share is no more certain for being seen twice
EATEN_BETWEEN = "([eaten_since]-[heft_eaten])"
FED_BETWEEN = "([fed_since]-[heft_fed])"
APART = f"{compared('ABS([heft_today]-[scale_today])')}>{compared('{balance_ask}*SQRT([carried_u]^2+[heft_u]^2)')}"
BY_HAND = "[apart]=1,ROUND([heft_share],6)>0.5"
BOTH_U = (
    "SQRT([shared_u]^2+((1-[heft_share])*[own_u])^2+([heft_share]*[heft_u])^2"
    f"+({SPREAD}*[aged])^2"
    f"+({{feed_spread}}*([fed_since]-[heft_share]*{FED_BETWEEN}))^2)"
)


def _eaten(day: str) -> str:
    """What the reference colony ate from a day to as-at, by the winter of each place where the colony stood."""
    was = f"({on_day('eaten', '[here_since]', '[profile_before]')}-{on_day('eaten', day, '[profile_before]')})"
    return f"IF([here_since]>{day},{was}+{eaten('[here_since]', '{as_at}')},{eaten(day, '{as_at}')})"


def _on_round(key: str, heft: str) -> str:
    return f"IF([round]=1,[Colonies.round_{key}@],{at(f'Weighings.{heft}', HEFT)})"


def _own_date(key: str) -> str:
    own = f"INDEX([Apiaries.{key}],[place_row])"
    inside = f"AND({own}>=[Calendar.date^],{own}<=MAX([Calendar.date]))"
    usual = at(f"Winter profiles.{key}", "[profile_row]")
    return f"IF([ready]=0,0,IF(ISNUMBER({own}),IF({inside},{own},{usual}),{usual}))"


def _evidence(key: str) -> str:
    return f'IF({EVIDENCE}=0,"",{at(f"Weighings.{key}", EVIDENCE)})'


def _heft(text: str) -> str:
    return f"IF([heft_counts]=0,0,{text})"


def _own(spread: str, water: str) -> str:
    wet = f"{spread}^2-[shared_u]^2"
    return f"SQRT(MAX(0,{wet})+({{water_spread}}*{water})^2)"


def _known(text: str, otherwise: str = '""') -> str:
    return f"IF([known]=0,{otherwise},{text})"


BEFORE = chain(
    (NEVER, "[flow]"),
    ("[takes]=1", at("Winter profiles.fondant_reaches", "[profile_row]")),
    (FONDANT_ONLY, "[flow]"),
    last=_own_date("feed_reaches"),
)
IN_WINTER = chain(
    (NEVER, "[flow]"),
    ("[takes]=1", "{as_at}+{round_days}"),
    (FONDANT_ONLY, "[flow]"),
    last=f"MAX({_own_date('feed_reaches')},{{as_at}}+{{round_days}})",
)
LATE = "{as_at}>=[last_liquid_day]-{fondant_lead}"
LITTLE = f"AND([takes]=1,{SHORT}<={compared('{fondant_later_short_by}')},{OUT}<={RISK},{LATE})"
SEASON_OPENS = "DATE({winter},INT({season_opens}/100),MOD({season_opens},100))"
BEFORE_WINTER = chain(
    (f"AND({SHORT}<={WORTH},{OUT}<={RISK})", 'IF([asked]="","enough","enough, if right")'),
    (f"AND([coarse]=1,ROUND([chance_short],6)<{COVER})", '"weigh"'),
    (f"{compared('[room]')}<{WORTH}", '"comb full"'),
    (LITTLE, '"fondant later"'),
    last='"feed"',
)
WINTER = chain(
    (f"AND([coarse]=1,{OUT}>{RISK},{OUT}<{COVER})", '"weigh"'),
    (f"{OUT}>{RISK}", '"feed now"'),
    last=LASTS,
)
# the closed form of: median less z standard uncertainties, consumption and evidence in squares, meets the floor
SPARE = "([stores_today]+[aged]-[floor])"
LEFT_OVER = f"({SPARE}^2-({Z}*[still_u])^2)"
ROOT = f"SQRT(MAX(0,{SPARE}^2-(1-({SPREAD}*{Z})^2)*{LEFT_OVER}))"
MAY_EAT = f"MAX(0,IF({SPARE}<={Z}*[still_u],0,{LEFT_OVER}/({SPARE}+{ROOT}))-[aged])"
# the feed after which the chance of running out is what was asked for; the feed's own spread grows with it
GAP = "([least]-[stores_today])"
C = f"(1-({{feed_spread}}*{Z})^2)"
SAFE = f"({GAP}+SQRT({GAP}^2-{C}*({GAP}^2-({Z}*[chance_u])^2)))/{C}"

FORMULAS = {
    "colony": 'IF([Colonies.colony@]="","",[Colonies.colony@])',
    "active": 'IF([Colonies.colony@]="",0,IF(OR([Colonies.state@]="united",[Colonies.state@]="given away",'
    '[Colonies.state@]="sold",[Colonies.moved_state@]<>""),0,1))',
    "place_row": f"IF({MOVED_PLACE},{match('[Colonies.moved_apiary@]', 'Apiaries.apiary')},"
    f"{match('[Colonies.apiary@]', 'Apiaries.apiary')})",
    "apiary": f'IF([place_row]=0,"",{at("Apiaries.apiary", "[place_row]")})',
    "keeper": f'IF([place_row]=0,"",{at("Apiaries.member", "[place_row]")}&"")',
    "profile_row": f"IF([place_row]=0,0,{match(at('Apiaries.profile', '[place_row]'), 'Winter profiles.name')})",
    "profile_before": f"IF({MOVED_PLACE},IFERROR(MATCH(INDEX([Apiaries.profile],"
    "MATCH([Colonies.apiary_before@],[Apiaries.apiary],0)),[Winter profiles.name],0),[profile_row]),[profile_row])",
    "here_since": f"IF({MOVED_PLACE},IF({WAS_SOMEWHERE},IF(AND([Colonies.moved_on@]>=[Calendar.date^],"
    "[Colonies.moved_on@]<=MAX([Calendar.date])),[Colonies.moved_on@],0),0),0)",
    "type_row": "IFERROR(MATCH("
    'IF([Colonies.moved_type@]<>"",[Colonies.moved_type@],[Colonies.hive_type@]),[Hive types.name],0),0)',
    "ready": "IF(AND([active]=1,[profile_row]>0,[type_row]>0),1,0)",
    "winter_starts": _own_date("winter_starts"),
    "last_liquid_day": _own_date("last_liquid_day"),
    "flow": _own_date("flow"),
    "takes": f'IF(AND([Colonies.takes_fondant@]="yes",NOT({NEVER})),1,0)',
    "phase": f"IF([ready]=0,0,IF(OR({{as_at}}<{SEASON_OPENS},{{as_at}}>=[flow]),0,IF({{as_at}}<[winter_starts],1,2)))",
    "reach": f"IF([phase]=0,0,MIN([flow],MAX({{as_at}},IF([phase]=1,{BEFORE},{IN_WINTER}))))",
    "size": f"IF([ready]=0,0,({BEES}/{{reference_bees}})^{{size_exponent}})",
    "own_rate": either("[Colonies.rate@]", "1"),
    "own_spread": either("[Colonies.rate_spread@]", WHOLE_SPREAD),
    "appetite": "[size]*[strength]*[own_rate]",
    "rank_scale": "MAX(IF([Weighings.colony_row]=#,[Weighings.rank_scale],0))",
    "rank_heft": "MAX(IF([Weighings.colony_row]=#,[Weighings.rank_heft],0))",
    "evidence_row": "IF([ready]=0,0,"
    + chain(
        ("[rank_scale]>0", "MATCH([rank_scale],[Weighings.rank_scale],0)"),
        ("[rank_heft]>0", "MATCH([rank_heft],[Weighings.rank_heft],0)"),
        last="0",
    )
    + ")",
    "evidence_day": f"IF({EVIDENCE}=0,0,INT({at('Weighings.date', EVIDENCE)}))",
    "evidence_occasion": f'IF({EVIDENCE}=0,1,IF({OCCASION}="before feed",0,IF({OCCASION}="after feed",2,1)))',
    "weighed_on": f'IF({EVIDENCE}=0,"",[evidence_day])',
    "strength": f"IF({EVIDENCE}=0,1,{at('Weighings.strength', EVIDENCE)})",
    "round": f"IF(AND([ready]=1,{EVIDENCE}>0,ISNUMBER([Colonies.round_day@])),"
    f"IF(AND([Colonies.round_day@]>[evidence_day],"
    f"[Colonies.round_day@]>=IF([rank_heft]=0,0,INT({at('Weighings.date', LATEST_HEFT)}))),1,0),0)",
    "heft_row": "IF(AND([ready]=1,[rank_scale]>0,[rank_heft]>0,[round]=0),"
    f"IF(INT({at('Weighings.date', LATEST_HEFT)})>[evidence_day],{LATEST_HEFT},0),0)",
    "heft_day": f"IF([round]=1,[Colonies.round_day@],IF({HEFT}=0,0,INT({at('Weighings.date', HEFT)})))",
    "heft_occasion": f'IF({HEFT}=0,1,IF({at("Weighings.occasion", HEFT)}="before feed",0,'
    f'IF({at("Weighings.occasion", HEFT)}="after feed",2,1)))',
    "hefted_on": 'IF([heft_day]=0,"",[heft_day])',
    "way": f'IF({EVIDENCE}=0,"",{at("Ways to weigh.name", at("Weighings.way_row", EVIDENCE))})',
    "how": 'IF([heft_share]=0,[way],IF([heft_share]=1,"heft",[way]&" and heft"))',
    **{key: _evidence(key) for key in ("gross", "gross_u", "tare", "extras", "feeder_left", "bees", "brood", "pollen")},
    "unlooked": f'IF({EVIDENCE}=0,0,IF(AND([way]<>"frames of food counted",'
    f"NOT(ISNUMBER({at('Weighings.feed_left', EVIDENCE)})),{RECENT}>0),1,0))",
    "known": f"IF(AND([phase]>0,{EVIDENCE}>0,[unlooked]=0),1,0)",
    "water_share": f'IF({EVIDENCE}=0,0,IF([way]="frames of food counted",0,'
    f"IF({LEFT}=0,1,IF({RECENT}>{LEFT},1-{LEFT}/{RECENT},0))))",
    "unripe_water": f'IF({EVIDENCE}=0,"",MAX(0,SUMIFS([Feedings.unripe],[Feedings.colony_row],#))*[water_share])',
    "stores": _known(f"{at('Weighings.dry', EVIDENCE)}-[unripe_water]"),
    "fed_since": _known("SUMIFS([Feedings.fed_since],[Feedings.colony_row],#)"),
    "eaten_since": _known(f"{EATS}*{_eaten('[evidence_day]')}"),
    "heft_counts": "IF(OR([known]=0,[heft_day]=0),0,"
    f"IF(AND(NOT(IF([round]=1,FALSE,ISNUMBER({at('Weighings.feed_left', HEFT)}))),{HEFT_RECENT}>0),0,1))",
    "heft_unripe": _heft(f"MAX(0,SUMIFS([Feedings.unripe_at_heft],[Feedings.colony_row],#))*{HEFT_WATER}"),
    "heft_fed": _heft("SUMIFS([Feedings.fed_since_heft],[Feedings.colony_row],#)"),
    "heft_eaten": _heft(f"{EATS}*{_eaten('[heft_day]')}"),
    "scale_today": _known("[stores]+[fed_since]-[eaten_since]"),
    "heft_today": _heft(f"{_on_round('dry', 'dry')}-[heft_unripe]+[heft_fed]-[heft_eaten]"),
    "shared_u": _heft(f"MIN({at('Weighings.kit_u', EVIDENCE)},{_on_round('kit_u', 'kit_u')})"),
    "own_u": _known(_own(at("Weighings.dry_u", EVIDENCE), "[unripe_water]"), "0"),
    "heft_u": _heft(_own(_on_round("dry_u", "dry_u"), "[heft_unripe]")),
    "carried_u": _heft(f"SQRT([own_u]^2+({SPREAD}*{EATEN_BETWEEN})^2+({{feed_spread}}*{FED_BETWEEN})^2)"),
    "apart": _heft(f"IF({APART},1,0)"),
    "heft_share": _heft("IF([apart]=1,IF([heft_u]<[carried_u],1,0),[carried_u]^2/([carried_u]^2+[heft_u]^2))"),
    "stores_today": _known("[scale_today]+[heft_share]*([heft_today]-[scale_today])"),
    "aged": _known(f"[eaten_since]-[heft_share]*{EATEN_BETWEEN}", "0"),
    "stores_u": _known(BOTH_U),
    "still_u": _known(f"SQRT(MAX(0,[stores_u]^2-({SPREAD}*[aged])^2))", "0"),
    "want_today": 'IF(OR([known]=0,[phase]<>1),"",'
    f"[strength]*{at('Hive types.want', TYPE)}+{EATS}*{eaten('{as_at}', '[winter_starts]')})",
    "short_by": 'IF([want_today]="","",[want_today]-[stores_today])',
    "floor": _known(f"{{reserve_floor}}*{SCALED}", "0"),
    "least": _known(f"[floor]+{EATS}*{eaten('{as_at}', '[reach]')}"),
    "chance_u": _known(f"SQRT([still_u]^2+({SPREAD}*([aged]+[least]-[floor]))^2)", "0"),
    "chance_out": _known("NORMSDIST(([least]-[stores_today])/[chance_u])"),
    "chance_short": 'IF([short_by]="","",NORMSDIST(([short_by]-{least_worth_giving})/[stores_u]))',
    "room": _known(
        f"{at('Hive types.comb_full', TYPE)}-[stores_today]-{at('Hive types.full_comb', TYPE)}"
        f"*{on_day('brood', '[winter_starts]')}*{BEES}/{{reference_bees}}"
        f"*{{brood_reference_side}}/{at('Hive types.comb_side', TYPE)}",
        "0",
    ),
    "coarse": _known(
        f"IF(OR({at('Weighings.coarse', EVIDENCE)}=1,{OLD},[apart]=1,ROUND([heft_share],6)>0.5),1,0)", "0"
    ),
    "may_eat": _known(MAY_EAT, "0"),
    "lasts_to": _known(
        f"[Calendar.date^]-1+MATCH({on_day('eaten', '{as_at}')}+[may_eat]/{EATS},{all_days('eaten')},1)"
    ),
    "fondant_by": _known('IF(AND([takes]=1,[lasts_to]<[flow]),MAX({as_at},[lasts_to]-{fondant_lead}),"")'),
    "asked": f'IF({EVIDENCE}=0,"",IF({at("Weighings.asked", EVIDENCE)}<>"",{at("Weighings.asked", EVIDENCE)},'
    f'IF({HEFT}=0,"",{at("Weighings.asked", HEFT)}&"")))',
    "verdict": chain(
        ("[active]=0", '""'),
        ("[ready]=0", '"not reckoned"'),
        ("[phase]=0", '"out of season"'),
        ("[known]=0", '"weigh"'),
        ("[phase]=1", BEFORE_WINTER),
        last=WINTER,
    ),
    "liquid": 'IF(AND([phase]=1,{as_at}<=[last_liquid_day],[verdict]<>"fondant later"),1,0)',
    "feed_row": "IFERROR(MATCH(IF([liquid]=1,{autumn_feed},{solid_feed}),[Feed kinds.name],0),0)",
    "portion": "IF(OR([known]=0,[feed_row]=0),0,IF([liquid]=1,"
    f"{at('Hive types.portion_liquid', TYPE)}*{at('Feed kinds.density', '[feed_row]')},"
    f"{at('Hive types.portion_fondant', TYPE)})*{at('Feed kinds.stores_share', '[feed_row]')})",
    "feed_full": chain(
        ("OR([known]=0,[feed_row]=0)", "0"),
        ('[verdict]="feed now"', "[portion]"),
        (ADVISED, f"MAX([short_by],IF({OUT}<={RISK},0,{SAFE}))"),
        last="0",
    ),
    "feed_stores": 'IF(OR([feed_full]=0,[verdict]="comb full"),0,'
    "MAX(0,MIN([feed_full],[room],IF([coarse]=1,[portion],[feed_full]))))",
    "stays_short": 'IF([feed_full]=0,"",[feed_full]-[feed_stores])',
    "feed_mass": f'IF([feed_stores]=0,"",[feed_stores]/{at("Feed kinds.stores_share", "[feed_row]")})',
    "feed_kind": f'IF([feed_mass]="","",{at("Feed kinds.name", "[feed_row]")})',
    "feed_volume": f'IF(OR([feed_mass]="",[liquid]=0),"",[feed_mass]/{at("Feed kinds.density", "[feed_row]")})',
    "feeder_litres": f"IF([type_row]=0,0,{either('[Colonies.feeder_holds@]', at('Hive types.feeder_holds', TYPE))})",
    "fills": 'IF([feed_volume]="","",ROUNDUP(ROUND([feed_volume]/[feeder_litres],6),0))',
    "sugar": f'IF([feed_volume]="","",IF({at("Feed kinds.mixed", "[feed_row]")}="yes",'
    f'[feed_mass]*{at("Feed kinds.solids", "[feed_row]")},""))',
    "water": 'IF([sugar]="","",[feed_mass]-[sugar])',
    "days": 'IF([feed_volume]="","",ROUNDUP(ROUND([feed_volume]/'
    "({pace_litres}*[bees]/{reference_bees}*IF(" + year_day("{as_at}") + ">{pace_after_day},{pace_after},1)),6),0))",
    "by_date": chain(
        ('[feed_mass]=""', 'IF([phase]=2,[fondant_by],"")'),
        ('[verdict]="fondant later"', "MAX({as_at},[lasts_to]-{fondant_lead})"),
        ('[verdict]="feed now"', "{as_at}"),
        ("[liquid]=1", "[last_liquid_day]"),
        last="[winter_starts]",
    ),
    "laid_on": 'IF(OR([phase]<>2,[active]=0,[ready]=0,[feed_row]=0,[fondant_by]="",[verdict]="weigh",'
    '[verdict]="feed now"),0,'
    f"{at('Hive types.portion_fondant', TYPE)})",
    "unripe_now": _known("MAX(0,SUMIFS([Feedings.unripe_now],[Feedings.colony_row],#))", "0"),
    "forecast": f"IF(OR([ready]=0,{AUTUMN_SHARE}=0),0,"
    f"{either(at('Hive types.fed_before', TYPE), '{forecast_share}*' + at('Hive types.want', TYPE))}/{AUTUMN_SHARE})",
    "given": 'SUMIFS([Feedings.stores],[Feedings.colony_row],#,[Feedings.date],"<"&({as_at}+1))',
    "change": f"IF(OR([known]=0,{AUTUMN_SHARE}=0),0,([given]+[feed_stores])/{AUTUMN_SHARE}-[forecast])",
    "stop_at": 'IF([feed_mass]="","",[stores_today]+[tare]+[extras]+[feeder_left]+[bees]+[brood]+[pollen]'
    "+[unripe_now]+[feed_mass])",
}
