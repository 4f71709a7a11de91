"""A roster of 180 invented children, as messy as a desk's list, and whom each line is of."""

import random
from dataclasses import dataclass

GIVEN = (
    *("Ada", "Bo", "Cleo", "Dina", "Emil", "Faye", "Gus", "Hedy", "Inés", "Jonna", "Kaï", "Lotte"),
    *("Mika", "Núria", "Otto", "Pia", "Quirin", "Rosa", "Søren", "Thea", "Uma", "Vito", "Wanda"),
    *("Xaver", "Yara", "Zoë", "Đorđe", "Łucja", "Ægir", "Björn"),
)
FAMILY = (
    *("Alder", "Birk", "Castaño", "Dahl", "Etxea", "Fühmann", "O’Grady", "Holt", "Ivarsson"),
    *("Jäger", "Kern-Lund", "Müller"),
)
CLASSES = ("Blue", "Red", "Early birds")
HEADER = "Member-No.;CHÍLD'S NAME;Called;Date of  Birth;Gróup;Parent;Consent;Language;Shoe size"


@dataclass
class Invented:
    number: int
    name: str
    year: int
    month: int
    group: str
    guardian: str

    @property
    def birth(self) -> str:
        day = 13 + self.number % 15
        year, month = self.year, f"{self.month:02}"
        forms = (
            f"{day}.{month}.{year}",
            f"{year}-{month}-{day}",
            f"{day}/{self.month}/{year}",
            f"{month}/{year}",
            f"{year}-{month}",
        )
        return forms[self.number % 5]


def children() -> list[Invented]:
    """Every name once, every sixth a twin of the one before."""
    chance = random.Random(180)
    pairs = [(given, family) for given in GIVEN for family in FAMILY]
    chance.shuffle(pairs)
    found: list[Invented] = []
    for number, (given, family) in enumerate(pairs[:180]):
        year, month = chance.randint(2012, 2019), chance.randint(1, 12)
        child = Invented(
            number, f"{given} {family}", year, month, CLASSES[number % 3], f"P. {family} {number}"
        )
        if number % 6 == 5:
            twin = found[-1]
            child.year, child.month, child.guardian = twin.year, twin.month, twin.guardian
        found.append(child)
    return found


def here_before(child: Invented) -> bool:
    """Whom last season's list had."""
    return child.number % 3 == 0


# By the number of a child who is here: how the file writes her otherwise.
PLAIN = str.maketrans("éúëïøøñüößłŁĐđäÄ", "eueioonuoslLDdaA")
CHANGED_NAME = (0, 3, 9, 12)
SWAPPED = (15, 18, 21)
CHANGED_MONTH = (24, 27, 30)
ONE_GUARDIAN = (33, 36)
YEAR_ONLY = (39, 40, 43)
# Children who are new, and on a second line otherwise.
TWICE = (46, 49)


def lines() -> list[tuple[int, str]]:
    """Each line with the number of the child that it is of."""
    rows = []
    for child in children():
        name, birth = child.name, child.birth
        if child.number in CHANGED_NAME:
            name = name.translate(PLAIN).replace("’", "'") + " Maria"
        elif child.number in SWAPPED:
            name = " ".join(reversed(name.split()))
        elif child.number in CHANGED_MONTH:
            birth = f"{child.year}-{child.month % 12 + 1:02}"
        elif child.number in ONE_GUARDIAN:
            name = f"{name.split()[0]} Newname"
        elif child.number in YEAR_ONLY:
            birth = str(child.year)
        elif child.number % 4 == 1:
            given, family = name.split()
            name = f'"{family}, {given}"'
        elif child.number % 4 == 2:
            name = f"  {name.upper()} "
        rows.append((child.number, _line(child, name, birth)))
        if child.number in TWICE:
            rows.append((child.number, _line(child, name.translate(PLAIN).title(), child.birth)))
    return rows


def _line(child: Invented, name: str, birth: str) -> str:
    group = (child.group.upper(), child.group, f" {child.group.lower()} ")[child.number % 3]
    if child.number % 20 == 7:
        group = "The little ones"
    number = {50: "007", 53: "7", 56: "007"}.get(child.number, "")
    consent = ("ja", "NEE", "", "✓", "if asked first")[child.number % 5]
    language = ("", "en", "Français", "NEDERLANDS")[child.number % 4]
    cells = [number, name, "", birth, group, child.guardian, consent, language, "31"]
    return ";".join(cells)


def messy_roster() -> str:
    return "\ufeff" + "\r\n".join([HEADER, *(line for _number, line in lines()), ";;;;;;;;", ""])
