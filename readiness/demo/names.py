"""Invented names: the studio, its halls and classes, its staff, its children.

The names come in several scripts and spellings, because real rosters do; each was put
together here and means nobody.
"""

from dataclasses import dataclass

STUDIO = "Nine Rungs Dance"
# One word for every account of the demo, which holds nothing of value.
PASSWORD = "nine rungs up"  # noqa: S105


@dataclass(frozen=True)
class Hall:
    name: str
    address: str
    zone: str
    surface: str
    # Where and when families can ask.
    questions: str


HALLS = (
    Hall(
        "Tern Street hall",
        "4 Tern Street, lower town",
        "Europe/Lisbon",
        "sprung-dance-floor",
        "Tern Street 4, 16:00 to 17:00",
    ),
    Hall(
        "Lamp Yard hall",
        "19 Lamp Yard, over the bridge",
        "Europe/Madrid",
        "spring-floor",
        "Lamp Yard 19, 17:30 to 18:15",
    ),
)


@dataclass(frozen=True)
class Group:
    """A class. ``after_today``: its weekday, in days after the demo's first day.

    lead, second, assistant: usernames; the lead logs most turns.
    """

    code: str
    name: str
    hall: int
    after_today: int
    lead: str
    second: str
    assistant: str


GROUPS = (
    Group("S", "Swifts", 0, 0, "rui", "ximena", "liv"),
    Group("W", "Wrens", 0, 3, "ximena", "rui", "liv"),
    Group("P", "Plovers", 1, 0, "oona", "teodor", "pau"),
    Group("D", "Dippers", 1, 4, "teodor", "oona", "pau"),
)


@dataclass(frozen=True)
class Person:
    username: str
    given: str
    family: str
    role: str
    halls: tuple[int, ...]


STAFF = (
    Person("amadea", "Amadea", "Thornquist", "director", (0, 1)),
    Person("bastiao", "Bastião", "Quintelo", "director", (0, 1)),
    Person("rui", "Rui", "Falcateira", "coach", (0,)),
    Person("ximena", "Ximena", "Orduñez", "coach", (0,)),
    Person("oona", "Oona", "Pellervainen", "coach", (1,)),
    Person("teodor", "Teodor", "Brzanowicz", "coach", (1,)),
    Person("liv", "Liv", "Aakremo", "assistant", (0,)),
    Person("pau", "Pau", "Serrallonga", "assistant", (1,)),
)

# One for each role, and the second director: whoever recommends does not sign.
SHOWN_SIGN_INS = ("liv", "rui", "amadea", "bastiao")

# Whole name, name used in class, guardian.
CHILDREN = (
    ("Inês Vasconçalo", "Inês", "Marta Vasconçalo"),
    ("Zuzanna Łękowska", "Zuzia", "Paweł Łękowski"),
    ("Nguyễn Hoàng Thảo Vy", "Thảo Vy", "Nguyễn Thị Mai Lan"),
    ("Máel O’Dálaighe", "Máel", "Nuala O’Dálaighe"),
    ("Ελπίδα Καραβέλλα", "Ελπίδα", "Νίκη Καραβέλλα"),
    ("Jonas Øverskog", "Jonas", "Ragna Øverskog"),
    ("Čeněk Ptáčník", "Čeněk", "Dita Ptáčníková"),
    ("Amparo Iriondeta", "Amparo", "Koldo Iriondeta"),
    ("Şebnem Karaağaçlı", "Şebnem", "Umut Karaağaçlı"),
    ("Leonor Mourisca", "Nono", "Aurora Mourisca"),
    ("Emőke Szélhegyi", "Emő", "Csaba Szélhegyi"),
    ("Ayọ̀bámi Adégokun", "Ayọ̀", "Fọlákẹ́ Adégokun"),
    ("Злата Верболоз", "Злата", "Марко Верболоз"),
    ("Þórdís Hraunfjörð", "Dísa", "Björk Hraunfjörð"),
    ("Gabrielė Šilinytė", "Gabrielė", "Rasa Šilinienė"),
    ("Ana-Lucía del Robledal", "Ana-Lucía", "Beatriz del Robledal"),
    ("Ioana Țărmuț", "Ioana", "Mircea Țărmuț"),
    ("Mateo Zubiarrain", "Mateo", "Nerea Zubiarrain"),
    ("Saoirse Ní Chorráin", "Saoirse", "Cathal Ó Corráin"),
    ("Đỗ Minh Khuê", "Khuê", "Đỗ Văn Lâm"),
    ("Käthe Brümmerlohn", "Käthe", "Jörg Brümmerlohn"),
    ("Noémie d’Aubrelles", "Noémie", "Yves d’Aubrelles"),
    ("Wiktoria Źrebiec", "Wika", "Hanna Źrebiec"),
    ("Malak Benhaddoun", "Malak", "Samira Benhaddoun"),
    ("Θάλεια Μυλωνίδη", "Θάλεια", "Στέλιος Μυλωνίδης"),
    ("Joana Pinhal-Serrão", "Joana", "Duarte Serrão"),
    ("Kaʻiulani Mahoewai", "Kaʻi", "Leilani Mahoewai"),
    ("Tomás Ribaflor", "Tomás", "Clara Ribaflor"),
    ("Ljubica Đurđevska", "Ljuba", "Vesna Đurđevska"),
    ("Agnès Puigdomàs", "Agnès", "Roser Puigdomàs"),
    ("Ebba Sjögräns", "Ebba", "Nils Sjögräns"),
    ("Radka Čermánová", "Radka", "Ivo Čermán"),
    ("Filipa Alvorão", "Pipa", "Rita Alvorão"),
    ("Trần Ngọc Ánh", "Ánh", "Trần Thu Hằng"),
    ("Mila Kovačuša", "Mila", "Jasna Kovačuša"),
    ("Olívia Castanhal", "Olívia", "Paulo Castanhal"),
    ("Ибтисам Саздова", "Ибти", "Лиляна Саздова"),
    ("Carmen Olazagorta", "Carmen", "Iker Olazagorta"),
    ("Sørine Fjeldhus", "Sørine", "Anker Fjeldhus"),
    ("Maëlle Kerbrizien", "Maëlle", "Loïc Kerbrizien"),
    ("Beatriu Fontrosselló", "Bea", "Pilar Fontrosselló"),
    ("Aigerim Sadvokaskyzy", "Aigerim", "Dana Sadvokas"),
    ("Ruta Dzenīte", "Ruta", "Māris Dzenītis"),
    ("Benedita Salgueiral", "Bene", "Teresa Salgueiral"),
    ("Iñigo Lezaundi", "Iñigo", "Maite Lezaundi"),
    ("Yaprak Gölbaşlı", "Yaprak", "Ece Gölbaşlı"),
    ("Hanne Wijkstraten", "Hanne", "Joost Wijkstraten"),
    ("Constança Arribeiro", "Constança", "Gil Arribeiro"),
)
