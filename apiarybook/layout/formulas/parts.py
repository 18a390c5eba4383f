"""Pieces of formula that several columns need; each returns text for a template."""

from apiarybook.handbook.status import not_used
from apiarybook.layout.model import Sheet


def at(column: str, row: str) -> str:
    """The cell of a whole column at a row number: INDEX.

    >>> at("Hive types.want", "[type_row]")
    'INDEX([Hive types.want],[type_row])'
    """
    return f"INDEX([{column}],{row})"


OF_A_DAY, OF_AN_OCCASION = 10_000_000, 2_000_000
"""A day outweighs any occasion and row in a rank, an occasion any row: sheets end at row 1,048,576 (ISO/IEC 29500)."""


OF_A_ROW = 1_000_000
"""A row outweighs any colony in what a run writes of both; so many colonies no sheet has."""


def rank(day: str, occasion: str) -> str:
    """What orders rows by day, by occasion (0, 1 or 2) and by their place on the sheet."""
    return f"{day}*{OF_A_DAY}+{occasion}*{OF_AN_OCCASION}+ROW()"


def highest(column: str, known: str, least: str = "0") -> str:
    """The highest of the numbers of a column beyond a least, in the rows of this row's colony; 0 if there is none.

    Programs from before 2019 do not know MAXIFS; there the product says the same, many times as slowly. Others take it
    for an error that there is none. A formula of an array would be reckoned slowly everywhere.

    Args:
        column: sheet and key.
        known: cell that says whether the rows of this colony are where the last run left them.
        least: what they have to exceed.

    >>> highest("Winter rounds.rank_heft", "[here]")[:82]
    'IF([here]=1,MAX([Winter rounds.rank_heft~])*(MAX([Winter rounds.rank_heft~])>0),IF'
    """
    of, most = f"{_sheet(column)}.colony_row", f"MAX([{column}~])"
    product = f"SUMPRODUCT(MAX(([{of}]=#)*([{column}]>{least})*[{column}]))"
    searched = f'IFERROR(_xlfn.MAXIFS([{column}],[{of}],#,[{column}],">"&{least}),IFERROR({product},0))'
    return f"IF({known}=1,{most}*({most}>{least}),{searched})"


def total(column: str) -> str:
    """The sum of a column in the rows of this row's colony.

    >>> total("Feedings.recent")
    'IF([here]=1,SUM([Feedings.recent~]),SUMIFS([Feedings.recent],[Feedings.colony_row],#))'
    """
    return f"IF([here]=1,SUM([{column}~]),SUMIFS([{column}],[{_sheet(column)}.colony_row],#))"


def _sheet(column: str) -> str:
    return column.partition(".")[0]


def moved(sheet: str) -> str:
    """Name of the figure that says whether rows of a sheet are still where the last run left them.

    >>> moved("Winter rounds")
    'moved_winter_rounds'
    """
    return f"moved_{sheet.lower().replace(' ', '_')}"


def any_moved(sheet: str) -> str:
    """Nought while all rows are where a run left them, and those of colonies of the same one; else more than any row.

    Whoever sorts rows, puts one between others or mends a code is answered by a search, which is right and slow; and so
    is who takes a row out in which nothing was typed yet, for formulas name it.
    """
    colony, written = f"[{sheet}.colony_row]", f"[{sheet}.as_written]"
    row = f"ROW({colony})*{OF_A_ROW}"
    others = f"SUMPRODUCT(({colony}>0)*({colony}+{row}<>{written}))"
    in_place = f"SUMPRODUCT(({written}>{row})*({written}<{row}+{OF_A_ROW}))"
    return f"IFERROR(IF({others}+[{sheet}.as_written+]-{in_place}=0,0,{OF_AN_OCCASION}),{OF_AN_OCCASION})"


def ranked_day(rank: str) -> str:
    """The day of a row by its rank."""
    return f"INT({rank}/{OF_A_DAY})"


def ranked_row(rank: str, sheet: str) -> str:
    """Which row of a sheet has a rank: no search, so that thousands of colonies open fast.

    The first is asked of a column, for whoever deletes a row takes its cells away; of one in which nobody types.

    >>> ranked_row("[rank_heft]", "Weighings")
    '(MOD([rank_heft],2000000)-ROW(INDEX([Weighings.as_written],1))+1)'
    """
    return f"(MOD({rank},{OF_AN_OCCASION})-ROW(INDEX([{sheet}.as_written],1))+1)"


AS_AT = "{as_at}"


def on_day(block: str, day: str, profile: str = "[profile_row]") -> str:
    """A block of the Calendar on a day for a winter profile: what it was at the last turn, and what came a day since.

    What it is today stands with the profiles.

    >>> on_day("eaten", "9", "2").replace(TURN.format("9"), "1")
    '(INDEX([Calendar.eaten*],1,2)+INDEX([Calendar.daily_eaten*],1,2)*(9-INDEX([Calendar.date],1)))'
    >>> on_day("eaten", AS_AT, "2")
    'INDEX([Winter profiles.eaten_now],2)'
    """
    return at(f"Winter profiles.{block}_now", profile) if day == AS_AT else worked_out(block, day, profile)


def worked_out(block: str, day: str, profile: str) -> str:
    """What `on_day` says of any day."""
    turn = TURN.format(day)
    return since_turn(block, turn, f"({day}-INDEX([Calendar.date],{turn}))", profile)


def since_turn(block: str, turn: str, days: str, profile: str = "[profile_row]") -> str:
    """What a block of the Calendar is so many days after one of its turns."""
    level, daily = (f"INDEX([Calendar.{key}*],{turn},{profile})" for key in (block, f"daily_{block}"))
    return f"({level}+{daily}*{days})"


TURN = "MATCH({},[Calendar.date],1)"
"""Row of the Calendar from which a day is counted."""


def day_eaten(amount: str, profile: str = "[profile_row]") -> str:
    """The last day before which no more than an amount was eaten; not every program knows INDEX with row 0."""
    ends = ("1", "ROWS([Calendar.date])")
    turn = f"MATCH({amount},{':'.join(f'INDEX([Calendar.eaten*],{end},{profile})' for end in ends)},1)"
    level, daily = (f"INDEX([Calendar.{key}*],{turn},{profile})" for key in ("eaten", "daily_eaten"))
    return f"MIN(MAX([Calendar.date]),INDEX([Calendar.date],{turn})+INT(ROUND(({amount}-{level})/{daily},6)))"


def eaten(start: str, end: str) -> str:
    """What the reference colony eats between two days, signed."""
    return f"({on_day('eaten', end)}-{on_day('eaten', start)})"


def either(typed: str, otherwise: str) -> str:
    """A typed number where there is one, else something else."""
    return f"IF(ISNUMBER({typed}),{typed},{otherwise})"


def match(cell: str, column: str) -> str:
    """The row of a word in a list, 0 where it is blank or not there."""
    return f'IF({cell}="",0,IFERROR(MATCH({cell},[{column}],0),0))'


def nobody_typed(sheet: Sheet) -> str:
    """Whether nothing stands in a row but what a run put ready there, or nothing at all.

    >>> from apiarybook.layout.type_later import AFTER_WINTER
    >>> nobody_typed(AFTER_WINTER)[:46]
    'AND(OR([colony]="",[colony]=[ready_colony]),CO'
    """
    ready = [f'OR([{key}]="",[{key}]=[{beside}])' for key, beside in sheet.made_ready.items()]
    others = ",".join(f"[{column.key}]" for column in sheet.content if not column.stands_ready)
    return f"AND({','.join(ready)},COUNTA({others})=0)"


def compared(mass: str) -> str:
    """A mass as thresholds compare it: kilograms to six decimals, in every book and engine alike."""
    return f"ROUND(({mass})*{{kg_in_unit}},6)"


def number_words(heading: str, key: str, otherwise: str = "not-a-number") -> str:
    """What is said of text where a number belongs, in the words of the check that will hold the row for it."""
    first, last = (f'ISNUMBER(FIND({end}([{key}],1),"0123456789"))' for end in ("LEFT", "RIGHT"))
    comma = f'AND({first},{last},ISNUMBER(FIND(",",[{key}])))'
    said = [f'"{not_used(heading, rule)}"' for rule in ("decimal-comma", "unit-in-cell", otherwise)]
    return f"IF({comma},{said[0]},IF(AND({first},NOT({last})),{said[1]},{said[2]}))"


TODAY = "MAX([Calendar.date^],MIN(MAX([Calendar.date]),IF(SUM({pin})>0,INT({pin}),TODAY())))"
"""The day for which the book reckons: pinned, or today; always a day of its winter.

A blank pin comes back as nought from a program that saved the book as ods.
"""
PIN = 'IF(ISNUMBER({typed_as_at}),{typed_as_at},"")'
"""What is typed as `as at` on Settings, shown where the answers stand; whatever is typed over it holds instead."""

SURE = "({sure_in_10}/10)"
Z = f"NORMSINV({SURE})"


def chain(*steps: tuple[str, str], last: str) -> str:
    """Nested IFs: the word of the first condition that holds.

    >>> chain(("[a]=1", '"one"'), ("[a]=2", '"two"'), last='"more"')
    'IF([a]=1,"one",IF([a]=2,"two","more"))'
    """
    text = last
    for condition, word in reversed(steps):
        text = f"IF({condition},{word},{text})"
    return text


def interpolated(row: str) -> str:
    """Density of sucrose syrup of the strength in this row, between two rows of the Syrup table, held at its ends."""
    low, high = at("Syrup table.solids", row), at("Syrup table.solids", f"{row}+1")
    first, second = at("Syrup table.density", row), at("Syrup table.density", f"{row}+1")
    held = "MIN([solids],MAX([Syrup table.solids]))"
    return f"({first}+({second}-{first})*({held}-{low})/({high}-{low}))"


SYRUP_ROW = "MIN(MATCH(ROUND([solids],6),[Syrup table.solids],1),ROWS([Syrup table.solids])-1)"
"""The row of the table at or under the strength of this row, never the last: programs differ in the last digit."""


def year_day(day: str) -> str:
    """Month and day of a date as one number that grows through the year: 930 for 30 September."""
    return f"(MONTH({day})*100+DAY({day}))"


def within(day: str, season: str) -> str:
    """Whether a date lies in a season of the handbook, both ends included."""
    return f"AND({year_day(day)}>={{{season}_from}},{year_day(day)}<={{{season}_until}})"


def ripening(age: str, given: str) -> str:
    """By how much the water of feed given on a day is to be divided so many days later."""
    half = f"IF({within(given, 'ripening_warm')},{{ripening_half_time_warm}},{{ripening_half_time_cool}})"
    return f"(1+(({age})/{half})^{{ripening_power}})"
