"""Invented names, written as they are, or typed so that marks and letters that reorder come in;
and letters about them."""

import datetime
from dataclasses import replace

from readiness.letters.letter import Letter, Sender
from readiness.letters.sections import Section
from readiness.letters.sentence import Sentence
from readiness.letters.type import as_printed, on_one_line

DAY = datetime.date(2026, 3, 4)

NAMES = {
    "Vietnamese": "Nguyễn Thị Ánh",
    "polytonic Greek": "Ἀθηνᾶ Ἑλένη Παπαδοπούλου",
    "Cyrillic": "Ольга Щербакова",
    "Hindi": "किर्ति क्षमा शर्मा",
    "Hebrew": "ליאור כהן-לוי",
    "Hebrew with points": "שָׁלוֹם נֹעַ",
    "Hebrew with marks of an abbreviation": "צה\"ל ד'אור",
    "Arabic": "ليلى نور",
    "Arabic with vowels": "مُحَمَّد لأ",
    "Arabic with Latin and a number inside": "ليلى Lia نور 2",
    "Arabic with brackets": "نور (Lia)",
    "Persian with a non-joiner": "پری\u200cناز رضایی",
    "Thai": "น้ำใจ กิ่งแก้ว",
    "sixty letters": "Wolfeschlegelsteinhausenbergerdorff-Featherstonehaugh Annabel",
    "marks with no letter of their own": "Adẹ́ọlá Ọ̀ṣun x̂y z̃a",
}


def letter_about(name: str, own: str = "", language: str = "en") -> Letter:
    child = on_one_line(name)
    told = (
        f"This week {child} worked on this:\n• Back walkover\n• Bridge hold",
        f"{child}, {child} and {child}’s hands; “{child}” ({child}); then more of {child}: the "
        "bridge is held longer than before, and a long line must be broken somewhere.",
    )
    return Letter(
        language=language,
        child=child,
        sender=Sender(f"{child}’s hall", "Mill hall, 4 Weir Lane", child),
        day=DAY,
        date="4 March 2026",
        title=f"What {child} works on",
        subject=f"Letter about {child}",
        greeting=f"Dear {child},",
        own=as_printed(own),
        sections=(Section("What comes next", tuple(map(Sentence, told))),),
        regards="With kind regards,",
        signs="for Lantern Yard",
        cautions="Our teachers decide each turn by what they see.",
        names=(child,),
    )


def arabic_letter_about(name: str) -> Letter:
    child = on_one_line(name)
    told = (
        f"تدربت {child} هذا الأسبوع على هذا:\n• الجسر\n• الوقوف على اليدين",
        f"{child}، {child} («{child}») تعمل أيضًا 12 مرة على Back walkover في القاعة الكبيرة مع "
        "معلمتها، ثم تكمل في الأسبوع القادم.",
    )
    return replace(
        letter_about(name),
        language="ar",
        sender=Sender("قاعة الفانوس", "Mill hall, 4 Weir Lane", child),
        date="4 مارس 2026",
        title=f"ما تعمل عليه {child}",
        greeting=f"إلى عائلة {child}،",
        own="أحسنتِ جدًا!",
        sections=(Section("ما يأتي بعد ذلك", tuple(map(Sentence, told))),),
        regards="مع أطيب التحيات،",
        signs="عن قاعة الفانوس",
        cautions="يقرر معلمونا في كل مرة بما يرونه. الفرش والأيدي تجعل الحوادث أندر. "
        "بعد ضربة على الرأس أو ألم في الرقبة: توقف، ولا عودة قبل أن يقول الطبيب نعم. "
        "لا شقلبة إلى الخلف في البيت، ولا على الأسرة.",
    )
