"""The live columns of Till the flow: days, the median of stores on each half-month, and their means by apiary."""

from apiarybook.handbook.half_months import BEGINS, HALF_MONTHS, half_month
from apiarybook.layout.formulas.parts import at, day_eaten, on_day

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


FORMULAS = {
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
