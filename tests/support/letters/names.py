"""Invented names, written as they are, or typed so that marks and letters that reorder come in."""

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
