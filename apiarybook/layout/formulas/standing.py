"""The live columns of Standing: evidence, stores today, want, least, verdict, feed and outlook."""

from apiarybook.handbook.figures import SHORT_MONTHS
from apiarybook.layout.formulas.parts import (
    AS_AT,
    OF_A_DAY,
    SURE,
    Z,
    at,
    chain,
    compared,
    day_eaten,
    eaten,
    either,
    highest,
    match,
    moved,
    on_day,
    ranked_day,
    ranked_row,
    ripening,
    total,
    within,
)
from apiarybook.layout.type_here import SUMMED

MOVED = "+".join(f"{{{moved(name)}}}" for name in ("Weighings", "Feedings", "Winter rounds"))
EVIDENCE = "[evidence_row]"
MOVED_PLACE = '[Colonies.moved_apiary@]<>""'
PROFILE = at("Apiaries.profile", "[place_row]")
"""Blank where the apiary has none of its own: then it is the club's."""
PROFILE_WAS = (
    "MATCH(INDEX([Apiaries.profile],MATCH([Colonies.apiary_before@],[Apiaries.apiary],0)),[Winter profiles.name],0)"
)
AUTUMN_SHARE = "IFERROR(INDEX([Feed kinds.stores_share],MATCH({autumn_feed},[Feed kinds.name],0)),0)"
OLD = f"AND({{as_at}}-[evidence_day]>{{old_evidence}},{within('{as_at}', 'evidence_ages')})"
TYPE = "[type_row]"
BEES = at("Hive types.bees", TYPE)
SCALED = "[size]*[strength]"
EATS = "[appetite]"
NEVER = '[Colonies.reached@]="never"'
FONDANT_ONLY = '[Colonies.reached@]="fondant only"'
RECENT = "[all_recent]"
OCCASION = at("Weighings.occasion", EVIDENCE)
LEFT = at("Weighings.feeder_left", EVIDENCE)
RISK = f"ROUND(1-{SURE},6)"
COVER = f"ROUND({SURE},6)"
OUT = "ROUND([chance_out],6)"
SHORT = compared("[short_by]")
WORTH = compared("{least_worth_giving}")
LACKS = 'OR([verdict]="feed",[verdict]="feed, then weigh",[verdict]="comb full",[verdict]="fondant later")'
SHARE = at("Feed kinds.stores_share", "[feed_row]")
MONTHS = ",".join(f'"{month}"' for month in SHORT_MONTHS)
LASTS = f'"lasts to "&DAY([lasts_to])&" "&CHOOSE(MONTH([lasts_to]),{MONTHS})'
SPREAD = "[own_spread]"
WHOLE_SPREAD = "SQRT((1+{winter_spread}^2)*(1+{place_spread}^2)*(1+{colony_spread}^2)-1)"


HEFT = "[heft_row]"
HEFT_LEFT = f"IF([round]=1,0,{at('Weighings.feeder_left', HEFT)})"
HEFT_RECENT = "[all_recent_at_heft]"
HEFT_WATER = f"IF({HEFT_LEFT}=0,1,IF({HEFT_RECENT}>{HEFT_LEFT},1-{HEFT_LEFT}/{HEFT_RECENT},0))"
LATEST_HEFT, LATEST_HEFT_DAY = ranked_row("[rank_heft]", "Weighings"), ranked_day("[rank_heft]")
# evidence of two kinds: what both share is no more certain for being seen twice
LEFT_YIELDS = f"IF({RECENT}>0,[all_left_of]/{RECENT},{AUTUMN_SHARE})"
HEFT_LEFT_YIELDS = f"IF({HEFT_RECENT}>0,[all_left_at_heft]/{HEFT_RECENT},{AUTUMN_SHARE})"
LEFT_WATER = "MAX(0,[feeder_left]-[left_stores])"
EATEN_BETWEEN = "([eaten_since]-[heft_eaten])"
FED_BETWEEN = "([fed_since]-[heft_fed])"
APART = f"{compared('ABS([heft_today]-[scale_today])')}>{compared('{balance_ask}*SQRT([carried_u]^2+[heft_u]^2)')}"
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
    return f"IF([ready]=0,0,IF(ISNUMBER({own}),IF({inside},INT({own}),{usual}),{usual}))"


def _evidence(key: str) -> str:
    return f'IF({EVIDENCE}=0,"",{at(f"Weighings.{key}", EVIDENCE)})'


def _heft(text: str) -> str:
    return f"IF([heft_counts]=0,0,{text})"


def _own(spread: str, water: str) -> str:
    wet = f"{spread}^2-[shared_u]^2"
    return f"SQRT(MAX(0,{wet})+({{water_spread}}*{water})^2)"


def _known(text: str, otherwise: str = '""') -> str:
    return f"IF([known]=0,{otherwise},{text})"


def _day(date: str) -> str:
    """A day in words without its year."""
    return f'DAY({date})&" "&CHOOSE(MONTH({date}),{MONTHS})'


def _told(mass: str) -> str:
    """A mass to a tenth, never below nought."""
    return f"ROUND(ROUND(MAX(0,{mass}),6),1)"


def _comb(day: str) -> str:
    """Stores that the combs hold on a day with the brood expected then."""
    brood = f"{on_day('brood', day)}*{BEES}/{{reference_bees}}*{{brood_reference_side}}"
    return (
        f"({at('Hive types.comb_full', TYPE)}"
        f"-{at('Hive types.full_comb', TYPE)}*{brood}/{at('Hive types.comb_side', TYPE)})"
    )


TURN = "DATE({winter},INT({pace_after_day}/100),MOD({pace_after_day},100))"
WARM_DAYS = f"MAX(0,{TURN}-{{as_at}}+1)"


def _litres(until: str) -> str:
    """What is taken from today up to and with a day: warm days at the full pace, later ones at the slow one."""
    days = f"MAX(0,{until}-{{as_at}}+1)"
    warm = f"MIN({days},{WARM_DAYS})"
    return f"[litres_a_day]*({warm}+{{pace_after}}*({days}-{warm}))"


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
TOLD = "IF([coarse]=0,TRUE,AND(ROUND([chance_short],6)<=ROUND({coarse_short},6),[untried]=0))"
BEFORE_WINTER = chain(
    (f"AND({SHORT}<={WORTH},{OUT}<={RISK},{TOLD})", 'IF([asked]="","enough","enough, if right")'),
    (f"AND([coarse]=1,ROUND([chance_short],6)<{COVER})", '"weigh"'),
    (f"AND({compared('[room]')}<{WORTH},{OUT}>{RISK})", '"comb full"'),
    (LITTLE, '"fondant later"'),
    ("[coarse]=1", '"feed, then weigh"'),
    last='"feed"',
)
# combs that are full while liquid feed is on: what is eaten until its last day can be fed again by then
AGAIN = f"IF(AND([phase]=1,{compared('[room]')}<{WORTH}),MIN([reach],MAX({{as_at}},[last_liquid_day])),{{as_at}})"
LATER = "[lasts_to]-{fondant_lead}"
IN_COMB = f'{at("Feed kinds.form", "[feed_row]")}="comb"'
COMB_THEN = f"{_comb('[ripe_on]')}+{EATS}*{eaten('{as_at}', '[ripe_on]')}-[stores_today]"
BROOD_THEN = (
    f"IF([should_on]=[evidence_day],[brood],{on_day('brood', '[should_on]')}*{BEES}/{{reference_bees}}"
    "*2*{brood_reference_side}*{brood_share}*{brood_mass_per_side})"
)
FOOD_AT_ONCE = "[stores_today]+[unripe_now]+[feed_mass]"
FOOD_RIPE = (
    f"[stores_today]+[feed_stores]-{EATS}*{eaten('{as_at}', '[should_on]')}"
    f"+MAX(0,[feed_mass]-[feed_stores])*1/{ripening('[should_on]-{as_at}', '{as_at}')}"
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
SAFE = f"({GAP}+SQRT(MAX(0,{GAP}^2-{C}*({GAP}^2-({Z}*{{fed_wider}}*[chance_u])^2))))/{C}"

UNSEEN = (
    f'IF([changed_on]>0,"weigh again: the hive was changed on "&{_day("[changed_on]")},"not weighed or hefted yet")'
)
SHARE_OF_HEFT = "ROUND([heft_share],6)"
SEEN = (
    f'IF({SHARE_OF_HEFT}=1,"",IF([way]="heft","hefted ",IF([way]="frames of food counted","counted ","weighed "))'
    f'&{_day("[evidence_day]")})&IF({SHARE_OF_HEFT}=0,"",IF({SHARE_OF_HEFT}=1,"",", ")&"hefted "&{_day("[heft_day]")})'
)
WANTED = "MIN([want_today],[comb])"
UP_TO = f"IF([feed_full]>0,MAX({WANTED},[stores_today]+[feed_full]),{WANTED})"
ENDS = chain(
    ('OR([verdict]="weigh",[verdict]="comb full")', '""'),
    ('[stays_short]=""', '""'),
    (f"{compared('[stays_short]')}<{WORTH}", '""'),
    last=f'"; then "&{_told("[stays_short]")}&" "&{{unit}}&" short"',
)

OF_STANDING = {
    "colony": 'IF([Colonies.colony@]="","",[Colonies.colony@])',
    "active": 'IF([Colonies.colony@]="",0,IF(OR([Colonies.state@]="united",[Colonies.state@]="given away",'
    '[Colonies.state@]="sold",[Colonies.moved_state@]<>""),0,1))',
    "place_row": f"IF({MOVED_PLACE},{match('[Colonies.moved_apiary@]', 'Apiaries.apiary')},"
    f"{match('[Colonies.apiary@]', 'Apiaries.apiary')})",
    "apiary": f'IF([place_row]=0,"",{at("Apiaries.apiary", "[place_row]")})',
    "keeper": f'IF([place_row]=0,"",{at("Apiaries.member", "[place_row]")}&"")',
    "profile_row": f'IF([place_row]=0,0,IFERROR(MATCH(IF({PROFILE}="",{{region}},{PROFILE}),'
    "[Winter profiles.name],0),0))",
    "profile_before": f"IF({MOVED_PLACE},IFERROR({PROFILE_WAS},[profile_row]),[profile_row])",
    "here_since": f"IF({MOVED_PLACE},IF(ISNUMBER({PROFILE_WAS}),IF(AND([Colonies.moved_on@]>=[Calendar.date^],"
    "[Colonies.moved_on@]<=MAX([Calendar.date])),[Colonies.moved_on@],0),0),0)",
    "type_row": "IFERROR(MATCH("
    'IF([Colonies.moved_type@]<>"",[Colonies.moved_type@],[Colonies.hive_type@]),[Hive types.name],0),0)',
    "ready": "IF(AND([active]=1,[profile_row]>0,[type_row]>0),1,0)",
    "winter_starts": _own_date("winter_starts"),
    "eaten_by_start": f"IF([ready]=0,0,{on_day('eaten', '[winter_starts]')})",
    "last_liquid_day": _own_date("last_liquid_day"),
    "flow": _own_date("flow"),
    "changed_on": either("[Colonies.changed_on@]", "0"),
    "takes": f'IF(AND([Colonies.takes_fondant@]="yes",NOT({NEVER})),1,0)',
    "phase": f"IF([ready]=0,0,IF(OR({{as_at}}<{SEASON_OPENS},{{as_at}}>=[flow]),0,IF({{as_at}}<[winter_starts],1,2)))",
    "reach": f"IF([phase]=0,0,MIN([flow],MAX({{as_at}},IF([phase]=1,{BEFORE},{IN_WINTER}))))",
    "size": f"IF([ready]=0,0,({BEES}/{{reference_bees}})^{{size_exponent}})",
    "own_rate": either("[Colonies.rate@]", "1"),
    "own_spread": either("[Colonies.rate_spread@]", WHOLE_SPREAD),
    "appetite": "[size]*[strength]*[own_rate]",
    "here": f"IF({MOVED}+ROW()={{row}},1,0)",
    **{f"all_{key}": total(f"Feedings.{key}") for key in SUMMED},
    **{
        rank: highest(f"Weighings.{rank}", "[here]", f"[changed_on]*{OF_A_DAY}") for rank in ("rank_scale", "rank_heft")
    },
    "evidence_row": "IF([ready]=0,0,"
    + chain(
        ("[rank_scale]>0", ranked_row("[rank_scale]", "Weighings")),
        ("[rank_heft]>0", LATEST_HEFT),
        last="0",
    )
    + ")",
    "evidence_day": f"IF({EVIDENCE}=0,0,INT({at('Weighings.date', EVIDENCE)}))",
    "evidence_occasion": f'IF({EVIDENCE}=0,1,IF({OCCASION}="before feed",0,IF({OCCASION}="after feed",2,1)))',
    "weighed_on": f'IF({EVIDENCE}=0,"",[evidence_day])',
    "strength": f"IF({EVIDENCE}=0,1,{at('Weighings.strength', EVIDENCE)})",
    "round": f"IF(AND([ready]=1,{EVIDENCE}>0,ISNUMBER([Colonies.round_day@])),"
    f"IF(AND([Colonies.round_day@]>[evidence_day],[Colonies.round_day@]>={LATEST_HEFT_DAY}),1,0),0)",
    "heft_row": "IF(AND([ready]=1,[rank_scale]>0,[rank_heft]>0,[round]=0),"
    f"IF({LATEST_HEFT_DAY}>[evidence_day],{LATEST_HEFT},0),0)",
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
    "unripe_water": f'IF({EVIDENCE}=0,"",MAX(0,[all_unripe])*[water_share])',
    "stores": _known(f"{at('Weighings.dry', EVIDENCE)}-[unripe_water]"),
    "evidence_type": f"IF({EVIDENCE}=0,0,{at('Weighings.type_row', EVIDENCE)})",
    "bees_share": f"IF({EVIDENCE}=0,1,IF({at('Weighings.month_bees', EVIDENCE)}>0,"
    f"[bees]/{at('Weighings.month_bees', EVIDENCE)},1))",
    "hand_known": f'IF([way]="heft",{at("Weighings.own_hand", EVIDENCE)},'
    f"IF({HEFT}=0,0,{at('Weighings.own_hand', HEFT)}))",
    "left_stores": _known(f"[feeder_left]*{LEFT_YIELDS}", "0"),
    "fed_since": _known("[all_fed_since]+[left_stores]"),
    "eaten_since": _known(f"{EATS}*{_eaten('[evidence_day]')}"),
    "heft_counts": "IF(OR([known]=0,[heft_day]=0),0,"
    f"IF(AND(NOT(IF([round]=1,FALSE,ISNUMBER({at('Weighings.feed_left', HEFT)}))),{HEFT_RECENT}>0),0,1))",
    "heft_unripe": _heft(f"MAX(0,[all_unripe_at_heft])*{HEFT_WATER}"),
    "heft_fed": _heft(f"[all_fed_since_heft]+{HEFT_LEFT}*{HEFT_LEFT_YIELDS}"),
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
    f"[strength]*{at('Hive types.want', TYPE)}+{EATS}*([eaten_by_start]-{on_day('eaten', AS_AT)}))",
    "comb": _known(_comb("[winter_starts]"), "0"),
    "short_by": 'IF([want_today]="","",MIN([want_today],[comb])-[stores_today])',
    "floor": _known(f"{{reserve_floor}}*{SCALED}", "0"),
    "least": _known(f"[floor]+{EATS}*{eaten(AGAIN, '[reach]')}"),
    "chance_u": _known(f"SQRT([still_u]^2+({SPREAD}*([aged]+[least]-[floor]))^2)", "0"),
    "chance_out": _known("NORMSDIST(([least]-[stores_today])/[chance_u])"),
    "chance_short": 'IF([short_by]="","",NORMSDIST(([short_by]-{least_worth_giving})/[stores_u]))',
    "room": _known("[comb]-[stores_today]", "0"),
    "coarse": _known(
        f"IF(OR({at('Weighings.coarse', EVIDENCE)}=1,{OLD},[apart]=1,ROUND([heft_share],6)>0.5),1,0)", "0"
    ),
    "untried": _known('IF(AND(OR([way]="heft",ROUND([heft_share],6)>0.5),[hand_known]=0),1,0)', "0"),
    "may_eat": _known(MAY_EAT, "0"),
    "lasts_to": _known(day_eaten(f"({on_day('eaten', '{as_at}')}+[may_eat]/{EATS})")),
    "fondant_by": _known(
        'IF(AND([takes]=1,{as_at}>[last_liquid_day],[lasts_to]<[flow]),MAX({as_at},[lasts_to]-{fondant_lead}),"")'
    ),
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
    "liquid": 'IF(AND([phase]=1,OR({as_at}<=[last_liquid_day],[takes]=0),[verdict]<>"fondant later"),1,0)',
    "feed_row": "IFERROR("
    + chain(
        ("[liquid]=1", "MATCH({autumn_feed},[Feed kinds.name],0)"),
        ("[takes]=1", "MATCH({solid_feed},[Feed kinds.name],0)"),
        last='MATCH("comb",[Feed kinds.form],0)',
    )
    + ",0)",
    "tare_now": _known(f"IF([evidence_type]=[type_row],[tare],{at('Hive types.tare', TYPE)})", "0"),
    "bees_now": _known(f"{BEES}*{on_day('bees', '{as_at}')}*[bees_share]", "0"),
    "portion_mass": "IF(OR([known]=0,[feed_row]=0),0,"
    + chain(
        ("[liquid]=1", f"{at('Hive types.portion_liquid', TYPE)}*{at('Feed kinds.density', '[feed_row]')}"),
        (IN_COMB, at("Hive types.full_comb", TYPE)),
        last=at("Hive types.portion_fondant", TYPE),
    )
    + ")",
    "portion": f"IF([portion_mass]=0,0,[portion_mass]*{SHARE})",
    "litres_a_day": "IF([liquid]=1,{pace_litres}*[bees_now]/{reference_bees},0)",
    "liquid_until": 'IF([liquid]=0,"",IF(OR([takes]=1,'
    f"ROUND({_litres('[last_liquid_day]')},6)>=ROUND({at('Hive types.portion_liquid', TYPE)},6)),"
    "[last_liquid_day],MAX([last_liquid_day],[winter_starts]-1)))",
    "can_take": f"IF(OR([liquid]=0,[feed_row]=0),0,{_litres('[liquid_until]')}"
    f"*{at('Feed kinds.density', '[feed_row]')}*{SHARE})",
    "ripe_on": 'IF([liquid]=0,"",MIN([liquid_until]+{ripe_after},MAX([Calendar.date])))',
    "most": f"IF(OR([known]=0,[liquid]=0),0,MAX(0,MIN([room],{COMB_THEN},[can_take],"
    "IF(OR([coarse]=1,[liquid_until]>[last_liquid_day]),[portion],[can_take]))))",
    "feed_full": chain(
        ("OR([known]=0,[feed_row]=0)", "0"),
        ('[verdict]="feed now"', "[portion]"),
        (LACKS, f"MAX([short_by],IF({OUT}<={RISK},0,{SAFE}))"),
        last="0",
    ),
    "feed_stores": 'IF(OR([feed_full]=0,[verdict]="comb full"),0,'
    "IF([liquid]=1,MAX(0,MIN([feed_full],[most])),[portion]))",
    "stays_short": 'IF([feed_full]=0,"",MAX(0,[feed_full]-[feed_stores]))',
    "feed_mass": f'IF({compared("[feed_stores]")}=0,"",[feed_stores]/{SHARE})',
    "feed_kind": f'IF([feed_mass]="","",{at("Feed kinds.name", "[feed_row]")})',
    "feed_volume": f'IF(OR([feed_mass]="",[liquid]=0),"",[feed_mass]/{at("Feed kinds.density", "[feed_row]")})',
    "feeder_litres": f"IF([type_row]=0,0,{either('[Colonies.feeder_holds@]', at('Hive types.feeder_holds', TYPE))})",
    "fills": 'IF([feed_volume]="","",ROUNDUP(ROUND([feed_volume]/[feeder_litres],6),0))',
    "poured": 'IF([fills]="","",ROUND(ROUND([feed_volume],6),1)&", "&[fills]&IF([fills]=1," fill"," fills"))',
    "sugar": f'IF([feed_volume]="","",IF({at("Feed kinds.mixed", "[feed_row]")}="yes",'
    f'[feed_mass]*{at("Feed kinds.solids", "[feed_row]")},""))',
    "water": 'IF([sugar]="","",[feed_mass]-[sugar])',
    "days": f'IF([feed_volume]="","",ROUNDUP(ROUND(IF([feed_volume]>[litres_a_day]*{WARM_DAYS},'
    f"{WARM_DAYS}+([feed_volume]-[litres_a_day]*{WARM_DAYS})/([litres_a_day]*{{pace_after}}),"
    "[feed_volume]/[litres_a_day]),6),0))",
    "by_date": chain(
        ('[feed_mass]=""', 'IF([phase]=2,[fondant_by],"")'),
        ('[verdict]="fondant later"', f"MAX({{as_at}},{LATER})"),
        ('[verdict]="feed now"', "{as_at}"),
        ("[liquid]=1", "[liquid_until]"),
        last=f"MAX({{as_at}},MIN([winter_starts],{LATER}))",
    ),
    "order_stores": "IF(OR([feed_full]=0,[portion]=0,[feed_stores]=0),0,IF([liquid]=1,"
    "MAX(0,MIN([feed_full],[room])),ROUNDUP(ROUND([feed_full]/[portion],6),0)*[portion]))",
    "order_mass": f"IF([order_stores]=0,0,[order_stores]/{SHARE})",
    "order_fills": f"IF(OR([liquid]=0,[order_mass]=0),0,"
    f"ROUNDUP(ROUND([order_mass]/{at('Feed kinds.density', '[feed_row]')}/[feeder_litres],6),0))",
    "laid_on": 'IF(OR([phase]<>2,[active]=0,[ready]=0,[feed_row]=0,[fondant_by]="",[verdict]="weigh",'
    '[verdict]="feed now"),0,'
    f"{at('Hive types.portion_fondant', TYPE)})",
    "unripe_now": _known(
        "MAX(0,[all_unripe_now]*[water_share]+[all_unripe_since]"
        f"+{LEFT_WATER}*1/{ripening('{as_at}-[evidence_day]', '[evidence_day]')})",
        "0",
    ),
    "because": chain(
        ("[active]=0", '""'),
        ("[ready]=0", '"its apiary or hive type is not known"'),
        ("[phase]=0", '""'),
        (f"{EVIDENCE}=0", UNSEEN),
        ("[unlooked]=1", f'"what was left in the feeder on "&{_day("[evidence_day]")}&"? 0 if empty"'),
        last=f'{_told("[stores_today]")}&IF([phase]=1," of "&{_told(UP_TO)},"")&" "&{{unit}}'
        f'&", give or take "&{_told("[stores_u]")}&"; "&{SEEN}&{ENDS}',
    ),
    "should_on": 'IF(OR([liquid]=0,[feed_mass]="",[coarse]=1),"",'
    f"IF(AND([fills]<=1,{compared('[stores_today]+[feed_mass]')}<={compared(_comb('{as_at}'))}),{{as_at}},[ripe_on]))",
    "should_weigh": f'IF([should_on]="","",IF([should_on]={{as_at}},{FOOD_AT_ONCE},{FOOD_RIPE})'
    f"+[tare_now]+[extras]+{at('Hive types.pollen', TYPE)}"
    f"+{BEES}*{on_day('bees', '[should_on]')}*[bees_share]+{BROOD_THEN})",
    "forecast": f"IF(OR([ready]=0,{AUTUMN_SHARE}=0),0,"
    f"{either(at('Hive types.fed_before', TYPE), '{forecast_share}*' + at('Hive types.want', TYPE))}/{AUTUMN_SHARE})",
    "given": 'SUMIFS([Feedings.stores],[Feedings.colony_row],#,[Feedings.date],"<"&({as_at}+1))',
    "change": f"IF(OR([known]=0,{AUTUMN_SHARE}=0),0,([given]+[order_stores])/{AUTUMN_SHARE}-[forecast])",
}

FORMULAS = {"Standing": OF_STANDING}
