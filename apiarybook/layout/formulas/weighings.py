"""The live columns of Hive types, what a hive may weigh, and of Weighings, from reading to status word."""

from apiarybook.handbook import status as words
from apiarybook.handbook.status import not_used
from apiarybook.layout.formulas.parts import (
    TURN,
    at,
    chain,
    either,
    match,
    nobody_typed,
    number_words,
    on_day,
    rank,
    since_turn,
)
from apiarybook.layout.type_here import WEIGHINGS

SIDES = '[how]="two sides"'
ONE = '[how]="one side"'
HEFT = '[how]="heft"'
FRAMES = '[how]="frames of food counted"'
STAND = at("Colonies.stand", "[colony_row]")
INSET = at("Colonies.rail_inset", "[colony_row]")
OWN_FACTOR = at("Colonies.stand_factor", "[colony_row]")
OWN_TARE = at("Colonies.own_tare", "[colony_row]")
LISTED_TYPE = at("Colonies.hive_type", "[colony_row]")
EVEN = f'OR({STAND}="solid",{STAND}="flush rails")'
MEASURED_INSET = f'AND({STAND}="inset rails",ISNUMBER({INSET}))'
ON_EVEN, ON_INSET = 1, 2
"""How a colony stands, where that says how much two sides weigh of the whole."""
HAND = "IFERROR(MATCH([by],[Hefting.by],0),1)"
OWN_HIVE = f"AND(ISNUMBER({OWN_TARE}),{at('Hive types.name', '[type_row]')}={LISTED_TYPE})"
TYPE_FRAMES = at("Hive types.full_comb", "[type_row]")
DAY = "INT([date])"
REGION = "IFERROR(MATCH({region},[Winter profiles.name],0),1)"
OCTOBER = "DATE({winter},10,15)"
CLUB_STARTS = at("Winter profiles.winter_starts", REGION)
OCCASION = 'IF([occasion]="before feed",0,IF([occasion]="after feed",2,1))'


def _then(block: str) -> str:
    """What `on_day` says of the day of a row."""
    return since_turn(block, "[turn]", "[days_since]")


def _of_club(block: str, day: str) -> str:
    return on_day(block, day, REGION)


def _line(key: str, otherwise: str) -> str:
    return f"IF([lined]=0,{otherwise},{at(f'Scales.{key}', '[scale_row]')})"


def _way(key: str) -> str:
    return f"IF([way_row]=0,0,{at(f'Ways to weigh.{key}', '[way_row]')})"


def _extra(number: int) -> str:
    cell = f"[extra_{number}]"
    return f'IF({cell}="",0,IFERROR(INDEX([Extras.mass],MATCH({cell},[Extras.name],0)),0))'


def _lift_u(mass: str) -> str:
    square = f"[line_fixed]^2+([line_relative]*{mass})^2+([line_away]*({mass}-[line_middle]))^2"
    return f"SQRT(MAX([line_least]^2,{square}))"


def hand(what: str) -> str:
    """A figure of the hand that hefted, for a guess or for the word that was said."""
    word = chain(
        ('[heft]="light"', f"INDEX([Hefting.light_{what}],{HAND})"),
        ('[heft]="heavy"', f"INDEX([Hefting.heavy_{what}],{HAND})"),
        last=f"INDEX([Hefting.right_{what}],{HAND})",
    )
    return f"IF(ISNUMBER([heft]),INDEX([Hefting.{what}],{HAND}),{word})"


def _rank(condition: str) -> str:
    counted = f'AND([usable]=1,{condition},[occasion]<>"practice",{DAY}<={{as_at}})'
    return f"IFERROR(IF(OR([usable]=0,[outside]=1),0,IF({counted},{rank(DAY, OCCASION)},0)),0)"


BROOD = "*[bees]/{reference_bees}*{brood_reference_side}"
LIVING = (
    f"[bees]*{_of_club('bees', OCTOBER)}+{_of_club('brood', OCTOBER)}{BROOD}*2*{{brood_share}}*{{brood_mass_per_side}}"
)
COMB = f"[comb_full]-[full_comb]*{_of_club('brood', CLUB_STARTS)}{BROOD}/[comb_side]"
EATEN = f"([bees]/{{reference_bees}})^{{size_exponent}}*({_of_club('eaten', CLUB_STARTS)}-{_of_club('eaten', OCTOBER)})"

TYPE_STOOD = chain(
    ('[moved_type]<>""', "[moved_type]"),
    (f'{at("Colonies.moved_type", "[colony_row]")}<>""', at("Colonies.moved_type", "[colony_row]")),
    last=LISTED_TYPE,
)
"""The hive type of a colony on the day of a row, by Moves and Colonies."""
TYPE_THEN = chain(('[hive_type_then]<>""', "[hive_type_then]"), last=TYPE_STOOD)
WORD = 'OR([heft]="light",[heft]="about right",[heft]="heavy")'
READABLE = chain(
    (HEFT, f"IF(ISNUMBER([heft]),[heft]>0,{WORD})"),
    (SIDES, "AND(ISNUMBER([reading_1]),ISNUMBER([reading_2]))"),
    last="ISNUMBER([reading_1])",
)
FRAME_OF_BEES = f"2*{at('Hive types.comb_side', '[type_row]')}*{{bee_mass_per_side}}"
MONTH_BROOD = f"{_then('brood')}*{at('Hive types.bees', '[type_row]')}/{{reference_bees}}"
SIDES_OF_BROOD = "[month_brood]/(2*{brood_share}*{brood_mass_per_side})"
COMB_THEN = (
    f"{at('Hive types.comb_full', '[type_row]')}-{at('Hive types.full_comb', '[type_row]')}*{SIDES_OF_BROOD}"
    f"/{at('Hive types.comb_side', '[type_row]')}"
)
EATEN_BY_START = (
    f"IF(AND({at('Standing.winter_starts', '[colony_row]')}>0,"
    f"{at('Standing.profile_row', '[colony_row]')}=[profile_row]),{at('Standing.eaten_by_start', '[colony_row]')},"
    f"{at('Winter profiles.eaten_by_start', '[profile_row]')})"
)
EATS_THEN = f"({at('Hive types.bees', '[type_row]')}/{{reference_bees}})^{{size_exponent}}"
CARD_WANT = f"{at('Hive types.want', '[type_row]')}+{EATS_THEN}*({EATEN_BY_START}-{_then('eaten')})"
NOT_STORES = "[tare]+[extras]+[feeder_left]+[bees]+[brood]+[pollen]"
GUESSED = f"INDEX([Hefting.guesses],{HAND})"
OWN_PAIRS = f"IF(ISNUMBER([heft]),{GUESSED},INDEX([Hefting.pairs],{HAND})-{GUESSED})"
NUMBERS = {
    "reading_1": "reading 1",
    "reading_2": "reading 2",
    "feed_left": "feed left in feeder",
    "other_extra": "other extra mass",
    "frames_bees": "frames of bees",
    "frames_brood": "frames of brood",
}
"""Columns of numbers by key, with their headings: text in one of them keeps the row from being used."""
BAD_HEFT = f"AND(ISTEXT([heft]),NOT({WORD}))"
UNREAD = f"OR({','.join(f'ISTEXT([{key}])' for key in NUMBERS)},{BAD_HEFT})"
OTHERS = f"([extras]+[feeder_left]+{either('[unripe_then]', '0')})"
LEEWAY = "(1+{slip_distant}*([heft_u]+[factor_u]))"
HIGH = f"{at('Hive types.believable', '[type_row]')}*{LEEWAY}"
# a run knows the water of a feed of the day; until then as much again is allowed as combs that are more than full
SAID = f"IF({HEFT},[heft]*[hand_factor],[gross])"
TOO_HIGH = f"{SAID}-{OTHERS}>{HIGH}+{{over_comb_full}}"
TOO_LOW = f"{SAID}-{OTHERS}<[tare]/{LEEWAY}"
MEASURED = f'AND([usable]=1,NOT({FRAMES}),[occasion]<>"practice",IF({HEFT},ISNUMBER([heft]),TRUE))'
OUTSIDE = f"IF(AND({MEASURED},NOT(ISNUMBER([beyond]))),IF(OR({TOO_HIGH},{TOO_LOW}),1,0),0)"
IS_EVIDENCE = f"{at('Standing.evidence_row', '[colony_row]')}=#"
FED_THAT_DAY = f'COUNTIFS([Feedings.colony_row],[colony_row],[Feedings.date],">="&{DAY},[Feedings.date],"<"&({DAY}+1))'
UNTIMED = f'IF(AND({IS_EVIDENCE},[is_it_right]="",OR([occasion]="",[occasion]="routine")),{FED_THAT_DAY}>0,FALSE)'
UNLOOKED = f"IF({IS_EVIDENCE},{at('Standing.unlooked', '[colony_row]')}=1,FALSE)"
IN_CALENDAR = f"AND({DAY}>=[Calendar.date^],{DAY}<=MAX([Calendar.date]))"

HIVE_TYPES = {
    "comb_full": 'IF([name]="","",[full_comb]*([frames]-[pollen_frames]-1))',
    "target": f'IF([name]="","",[tare]+{LIVING}+[pollen]+MIN([want]+{EATEN},{COMB}))',
    "feed_to": 'IF([name]="","",[target]+{over_comb_full})',
    "believable": 'IF([name]="","",[tare]+[bees]+[pollen]+[comb_full]+{over_comb_full})',
}
OF_WEIGHINGS = {
    "colony_row": f"IF({nobody_typed(WEIGHINGS)},0,{match('[colony]', 'Colonies.colony')})",
    "profile_row": f"IF([colony_row]=0,0,IF(ISNUMBER([date]),IF({DAY}<{at('Standing.here_since', '[colony_row]')},"
    f"{at('Standing.profile_before', '[colony_row]')},{at('Standing.profile_row', '[colony_row]')}),"
    f"{at('Standing.profile_row', '[colony_row]')}))",
    "type_row": f"IF([colony_row]=0,0,IFERROR(MATCH({TYPE_THEN},[Hive types.name],0),0))",
    "way_row": match("[how]", "Ways to weigh.name"),
    "scale_row": match("[scale]", "Scales.scale"),
    "usable": "IF("
    'OR([held]<>"",NOT(ISNUMBER([date])),[type_row]=0,[profile_row]=0,[way_row]=0,[hive_is]="snow",'
    f'AND([scale]<>"",[scale_row]=0),{UNREAD}),0,IF({IN_CALENDAR},IF({READABLE},1,0),0))',
    "turn": f"IF([usable]=0,0,{TURN.format(DAY)})",
    "days_since": f"IF([usable]=0,0,{DAY}-INDEX([Calendar.date],[turn]))",
    "lined": f"IF([scale_row]=0,0,IF({at('Scales.line_slope', '[scale_row]')}>0,1,0))",
    "line_offset": _line("line_offset", "0"),
    "line_slope": _line("line_slope", "1"),
    "line_fixed": _line("line_fixed", _way("line_fixed")),
    "line_relative": _line("line_relative", _way("line_relative")),
    "line_away": _line("line_away", "0"),
    "line_middle": _line("line_middle", "0"),
    "line_least": _line("line_least", _way("line_least")),
    "lifted_1": f"IF(OR([usable]=0,{HEFT},{FRAMES}),0,"
    f"(IF({SIDES},[reading_1],({either('[reading_2]', '[reading_1]')}+[reading_1])/2)-[line_offset])/[line_slope])",
    "lifted_2": f"IF([usable]=0,0,IF({SIDES},([reading_2]-[line_offset])/[line_slope],0))",
    "lifted_u": f"IF([usable]=0,0,{_lift_u('[lifted_1]')}+IF({SIDES},{_lift_u('[lifted_2]')},0))",
    "even": f"IF([colony_row]=0,0,IF({EVEN},{ON_EVEN},IF({MEASURED_INSET},{ON_INSET},0)))",
    "factor": "IF([colony_row]=0,1,"
    + chain(
        (SIDES, f"IF([even]={ON_EVEN},1,IF([even]={ON_INSET},(1-{INSET})/(1-2*{INSET}),{_way('factor')}))"),
        (ONE, either(OWN_FACTOR, _way("factor"))),
        last="1",
    )
    + ")",
    "factor_u": "IF([colony_row]=0,0,"
    + chain(
        (SIDES, f"IF([even]>0,0,{_way('factor_u')})"),
        (ONE, f"IF(ISNUMBER({OWN_FACTOR}),{{own_stand_factor_u}},{_way('factor_u')})"),
        last="0",
    )
    + ")",
    "tare": f"IF([type_row]=0,0,IF({OWN_HIVE},{OWN_TARE},{at('Hive types.tare', '[type_row]')}))",
    "tare_u": f"IF([type_row]=0,0,IF({OWN_HIVE},{{own_tare_u}},{at('Hive types.tare_spread', '[type_row]')}))",
    "wet_u": "IF([type_row]=0,0,"
    'IF([hive_is]="damp",{damp_box},IF([hive_is]="soaked",{soaked_box},0))'
    f"*{at('Hive types.boxes', '[type_row]')}"
    f'*IF({at("Hive types.material", "[type_row]")}="polystyrene",{{polystyrene_share}},1))',
    "extras": f"{_extra(1)}+{_extra(2)}+{_extra(3)}+{either('[other_extra]', '0')}+[wet_u]",
    "feeder_left": either("[feed_left]", "0"),
    "month_bees": f"IF([usable]=0,0,{at('Hive types.bees', '[type_row]')}*{_then('bees')})",
    "bees": "IF([usable]=0,0,IF(ISNUMBER([frames_bees]),"
    f"[frames_bees]*2*{at('Hive types.comb_side', '[type_row]')}*{{bee_mass_per_side}},[month_bees]))",
    "brood": "IF([usable]=0,0,IF(ISNUMBER([frames_brood]),"
    f"[frames_brood]*2*{at('Hive types.comb_side', '[type_row]')}*{{brood_share}}*{{brood_mass_per_side}},"
    "[month_brood]))",
    "month_brood": f"IF([usable]=0,0,{MONTH_BROOD}*2*{{brood_reference_side}}*{{brood_share}}*{{brood_mass_per_side}})",
    "pollen": f"IF([usable]=0,0,{at('Hive types.pollen', '[type_row]')})",
    "usual_bees": f"IF([usable]=0,0,MIN([month_bees],{{covered_frames}}*{_then('bees')}*{FRAME_OF_BEES}))",
    "frames_usual": f'IF([usable]=0,"",[usual_bees]/({FRAME_OF_BEES}))',
    "strength": "IF([usable]=0,1,IF(ISNUMBER([frames_bees]),MAX({group_low},MIN({group_high},"
    "IF([bees]>[month_bees],[bees]/[month_bees],MIN(1,[bees]/[usual_bees]))^{size_exponent})),1))",
    "card_stores": f"IF([usable]=0,0,MAX(0,MIN({CARD_WANT},{COMB_THEN})))",
    "target": "IF([usable]=0,0,[tare]+[month_bees]+[month_brood]+[pollen]+[card_stores])",
    "hand_factor": f"IF([usable]=0,0,IF({HEFT},{hand('factor')},0))",
    "hefted": f"IF([usable]=0,0,IF({HEFT},{NOT_STORES}+MAX(0,MIN({at('Hive types.comb_full', '[type_row]')},"
    f"IF(ISNUMBER([heft]),[heft],[target])*[hand_factor]-({NOT_STORES}))),0))",
    "own_hand": f"IF([usable]=0,0,IF({HEFT},IF({OWN_PAIRS}>0,1,0),0))",
    "heft_u": f"IF([usable]=0,0,IF({HEFT},{hand('spread')},0))",
    "coarse": f"IF([way_row]=0,0,IF({SIDES},IF([even]>0,0,1),{_way('coarse')}))",
    "gross": f'IF([usable]=0,"",IF({FRAMES},"",IF({HEFT},[hefted],[factor]*([lifted_1]+[lifted_2]))))',
    "gross_u": "IF([usable]=0,0,"
    + chain(
        (FRAMES, "0"),
        (HEFT, "[hefted]*[heft_u]"),
        last="SQRT(([factor]*[lifted_u])^2+([factor_u]*[gross])^2+"
        f'IF(AND([how]="full lift",[lifted_1]>{{hanging_heavy}}),{{hanging_heavy_u}},{_way("handling_u")})^2'
        f"+{either('[beyond]', '0')}^2)",
    )
    + ")",
    "dry": f"IF([usable]=0,0,IF({FRAMES},[reading_1]*{TYPE_FRAMES},"
    "[gross]-[tare]-[extras]-[feeder_left]-[bees]-[brood]-[pollen]))",
    "dry_u": f"IF([usable]=0,0,IF({FRAMES},SQRT(({{frames_spread}}*[dry])^2+({{frames_step}}*{TYPE_FRAMES})^2),"
    "SQRT([gross_u]^2+[tare_u]^2+[wet_u]^2+({bees_spread}*[bees])^2+({brood_spread}*[brood])^2"
    '+({pollen_spread}*[pollen])^2+IF([flow_on]="yes",{flow_spread},0)^2)))',
    "kit_u": f"IF([usable]=0,0,IF({FRAMES},0,"
    "SQRT([tare_u]^2+({bees_spread}*[bees])^2+({pollen_spread}*[pollen])^2)))",
    "stores": 'IF([usable]=0,"",[dry]-IF('
    f"{at('Standing.evidence_row', '[colony_row]')}=#,{at('Standing.unripe_water', '[colony_row]')},"
    f"{either('[unripe_then]', '0')}))",
    "outside": OUTSIDE,
    "rank_scale": _rank('[how]<>"heft"'),
    "rank_heft": _rank(HEFT),
    "status": chain(
        ('[held]<>""', '"not used before the next run: "&[held]'),
        (f"OR({nobody_typed(WEIGHINGS)},COUNTA([date],[colony],[how],[reading_1],[reading_2],[heft])=0)", '""'),
        ("NOT(ISNUMBER([date]))", '"date?"'),
        ("[colony_row]=0", '"colony?"'),
        ("[type_row]=0", '"hive type?"'),
        ("[profile_row]=0", '"winter profile of its apiary?"'),
        ("[way_row]=0", '"how?"'),
        ('[hive_is]="snow"', '"brush off the snow and weigh again"'),
        ('AND([scale]<>"",[scale_row]=0)', '"scale?"'),
        *((f"ISTEXT([{key}])", number_words(heading, key)) for key, heading in NUMBERS.items()),
        (BAD_HEFT, number_words("heft: guess or word", "heft", "unknown-word")),
        ("[usable]=0", '"date or reading?"'),
        ('[occasion]="practice"', '"practice: not counted"'),
        (f"{DAY}>{{as_at}}", '"later than as at: not counted yet"'),
        ("ISNUMBER([beyond])", '"ok: looked at"'),
        ("[outside]=1", f'"{not_used("reading 1", words.OUTSIDE)}"'),
        (f"IF({MEASURED},[gross]-{OTHERS}>{HIGH},FALSE)", '"look again: more than it can hold"'),
        (UNLOOKED, f'"{words.FEEDER}"'),
        (UNTIMED, f'"{words.ORDER}"'),
        ('[asked]<>""', 'IF([is_it_right]="","look again: "&[asked],"answered: counts from the next run")'),
        last='"ok"',
    ),
}

FORMULAS = {"Hive types": HIVE_TYPES, "Weighings": OF_WEIGHINGS}
