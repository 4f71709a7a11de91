"""The sentences of the floor page, for its scripts.

They are written into the page itself, so that they are translated with everything else and
need no call of their own.
"""

from django.utils.translation import gettext as _

from readiness.floor.code_words import code_words
from readiness.floor.count_words import SAMPLES, counts
from readiness.floor.evening_words import evening_counts, evening_words, hall_words
from readiness.floor.tonight_words import tonight_counts, tonight_words


def words() -> dict[str, object]:
    """Sentences, sentences that count, and words for codes, in the active language."""
    sentences_that_count = counts() | tonight_counts(SAMPLES) | evening_counts(SAMPLES)
    return {
        "samples": SAMPLES,
        "words": _sentences() | sentences_that_count,
        "codes": code_words(),
    }


def _sentences() -> dict[str, str]:
    return (
        _on_the_tiles()
        | _on_sheets()
        | _ways_to_log()
        | _about_sending()
        | _before_class()
        | evening_words()
        | hall_words()
        | _on_shared_tablets()
        | _about_the_page()
        | tonight_words()
        | _of_an_earlier_day()
    )


def _on_the_tiles() -> dict[str, str]:
    return {
        "title": _("%(weekday)s %(date)s, %(time)s · %(group)s"),
        "surface": _("surface"),
        "choose": _("Choose"),
        "here": _("here"),
        "not-here": _("not here"),
        "not-said": _("not marked yet"),
        "clean": _("clean"),
        "not-clean": _("not clean"),
        "caught-turn": _("not clean, caught"),
        "does-clean": _("log a clean turn"),
        "does-ask": _("log a turn"),
        "sure": _("sure"),
        "best": _("best"),
        "percent": _("%(n)s %%"),
        "of": _("of %(need)s"),
        "reached": _("reached"),
        "on-days": _("on %(days)s of %(days_need)s days"),
        "met": _("met"),
        "today": _("today %(values)s"),
        "paused": _("paused"),
        "re-check": _("re-check"),
        "not-open-yet": _("not open"),
        "hurts": _("hurts: %(places)s"),
        "gone-ask": _("%(places)s: gone?"),
        "support-none": _("not now"),
        "support-more": _("more support for %(name)s"),
        "support-why": _("why, and other support for %(name)s"),
        "drill-next": _("%(drill)s next"),
        "drill-again": _("%(drill)s again"),
        "next-why": _("%(name)s: %(fault)s, seen again"),
        "undo": _("Undo · %(turn)s"),
        "undo-none": _("Nothing to undo"),
        "turn-of": _("%(name)s: %(outcome)s"),
        "fall-button": _("After a fall · %(number)s"),
        "fall-button-unconfirmed": _("After a fall · %(number)s, not confirmed"),
        "fall-button-no-number": _("After a fall · no number yet"),
    }


def _before_class() -> dict[str, str]:
    return {
        "to-the-roll": _("On to who is here"),
        "to-the-floor": _("On to the floor"),
        "children-per-adult": _(
            "%(children)s, %(adults)s on tonight's list: %(each)s to an adult."
        ),
        "no-adults": _("%(children)s, and no adult on tonight's list yet."),
        "each-to-an-adult": _(
            "%(children)s, %(adults)s and %(assistants)s. While one spots: %(each)s to an adult "
            "who is not spotting."
        ),
        "too-many-each": _(
            "That is more than the studio's %(most)s to an adult. Hold fewer turns, or ask "
            "somebody in."
        ),
        "spots-alone": _(
            "%(children)s and one adult. While you spot, the others hold shapes where you see them."
        ),
        "nobody-spots": _("Nobody here may spot %(drill)s. It rests tonight."),
        "no-training": _(
            "Of nobody here it is written down what they are trained to spot: a director does, "
            "under “Spotters”."
        ),
    }


def _on_sheets() -> dict[str, str]:
    return {
        "all-drills": _("All drills"),
        "card": _("What counts"),
        "card-of": _("What counts: %(drill)s"),
        "card-cues": _("Cues"),
        "card-faults": _("What can be seen"),
        "quiz-line": _("Quiz the line"),
        "from-the-side": _("From the side"),
        "not-fetched": _("Not on this tablet yet: once with a network, then always."),
        "which-surface": _("What is the floor now?"),
        "not-now": _("Not this drill, not now."),
        "has-happened": _("A turn has happened already"),
        "help-there": _("How much help was there?"),
        "kept-and-told": _("It is kept, and the director sees it."),
        "number-of": _("%(name)s · %(drill)s, %(measure)s"),
        "keep-number": _("Keep %(n)s"),
        "keep-next": _("Keep, next: %(name)s"),
        "erase": _("Erase"),
        "not-a-number": _("Write a number such as 7 or 7.5."),
        "not-whole": _("Write a whole number such as 7."),
        "only-tenths": _("Write tenths at most, such as 7.5."),
        "too-much": _("At most %(most)s at this drill."),
        "grade-of": _("%(name)s · %(drill)s"),
        "something-hurts": _("Something hurts"),
        "who": _("Who?"),
        "where": _("Where?"),
        "hurt-kept": _("%(name)s, %(place)s: written down. Tell the parent today."),
        "hurt-rest": _("%(name)s does nothing that loads it today; the tiles say which drills."),
        "gone": _("%(place)s: gone"),
        "still-there": _("%(place)s: still there"),
        "all-gone": _("Gone"),
        "growing-tap": _("Growing fast"),
        "growing-told": _(
            "Growing fast: first turns with one step more, fewer landings on the hands."
        ),
        "about-whom": _("About which child?"),
        "about": _("%(name)s · %(drill)s"),
        "cues": _("Cues: %(cues)s"),
        "moved-sure": _(
            "The record is now %(sure)s %% sure; %(need)s %% is asked, and %(turns_need)s clean "
            "turns on %(days_need)s days: %(clean)s on %(days)s so far."
        ),
        "moved-best": _("%(best)s now; %(need)s is asked."),
        "moved-days": _(
            "%(best)s now; %(need)s is asked, on %(days)s of %(days_need)s days so far."
        ),
        "moved-met": _("That is met."),
        "next-support": _("Support from now on"),
        "allowed": _("Allowed now: %(support)s, or more."),
        "less-than-allowed": _("less than allowed"),
        "no-hands": _("No hands tonight"),
        "not-tonight": _("Not tonight"),
        "no-hands-said": _(
            "%(name)s said no to hands tonight: no skill that needs a spotter. Nobody asks why."
        ),
        "no-hands-back": _("Hands are all right again"),
        "child-may-ask": _("A child may always ask for more, and always gets it."),
        "why-less": _("Why %(support)s for %(name)s?"),
        "less-is-told": _("It is logged with the turns, and the director sees it."),
        "wrong-entry": _("Written down wrongly?"),
        "pause-is-lifted": _("A director lifts this pause."),
        "who-instead": _("%(place)s: whose is it?"),
        "what-was-seen": _("What was seen? Or go on."),
        "stop-signs": _("Stop signs"),
        "caught": _("Caught or lifted by the spotter"),
        "more-faults": _("More"),
        "take-back": _("Undo"),
        "done": _("Done"),
        "stop-seen": _("A stop sign. Find the cause before the next turn."),
        "stop-hands-on": _("A stop sign: hands-on from now."),
        "stop-finished": _("A stop sign: finished with this for tonight."),
        "stop-backward": _("A stop sign: nothing backward or upside down tonight."),
        "stopping-is-right": _("Stopping is right: thank %(name)s. It is not counted as a turn."),
        "mend-now": _("Now: %(drills)s."),
        "head-question": _("Weight on it, it hurts, or nobody saw: pause"),
        "head-paused": _("%(name)s is paused. Tell the family today."),
        "after-a-fall": _("After a fall"),
        "emergency": _(
            "After a fall with neck or back pain: do not move the child, keep the head still, "
            "call %(number)s. You are at: %(address)s."
        ),
        "card-door": _("The ambulance comes to: %(text)s"),
        "card-who_phones": _("Who phones: %(text)s"),
        "card-who_meets": _("Who meets the ambulance: %(text)s"),
        "card-first_aid_kit": _("First-aid kit: %(text)s"),
        "card-defibrillator": _("Defibrillator: %(text)s"),
        "who-fell": _("Who fell?"),
        "fall-of": _("After a fall · %(name)s"),
        "fell-tap": _("Fell: write it down"),
        "fell-at": _("Written down: %(name)s fell, %(time)s."),
        "fall-pause": _("Head, neck or back? One tap pauses."),
        "red-flags-call": _("Call at once for any of these"),
        # By meaning, the red flags of the Concussion Recognition Tool 6 (2023).
        "red-flags": _(
            "a sore or painful neck\n"
            "a fit\n"
            "passing out, or hard to wake\n"
            "vomiting more than once\n"
            "a headache that is bad or grows\n"
            "seeing double, or not seeing\n"
            "weak or tingling arms or legs\n"
            "growing confusion\n"
            "growing restlessness or anger\n"
            "a dent or swelling of the skull"
        ),
        "no-emergency-number": _(
            "The emergency number of this hall is missing. Ask now which one to call here. A "
            "director enters it under “Halls”."
        ),
        "no-address": _(
            "The address of this hall is missing. Ask now how to tell it. A director enters it "
            "under “Halls”."
        ),
        "not-confirmed": _(
            "Nobody has confirmed the emergency number, %(number)s. Ask now whether it is right "
            "here. A director confirms it under “Halls”."
        ),
        "head-bump": _(
            "After a bump to the head: stop for today, even if it seems fine, and tell the "
            "parent today."
        ),
        "clinician": _(
            "We are not clinicians. After a blow to the head, or with a sore neck: no return "
            "until a licensed clinician clears it."
        ),
        "caution": _(
            "The program counts and reminds; a qualified coach in the room decides, each turn."
        ),
    }


def _on_shared_tablets() -> dict[str, str]:
    return {
        "still": _("Still %(name)s?"),
        "still-why": _(
            "Nobody has touched this tablet for a while. What you tapped is kept until you say."
        ),
        "still-yes": _("Yes, %(name)s goes on"),
        "still-other": _("I am %(name)s"),
        "meant": _("Tapped before you took over: %(what)s. Is it yours?"),
        "meant-log": _("Yes, log it"),
        "meant-leave": _("No, leave it"),
        "change-over": _("Change over"),
        "change-over-offline": _(
            "Changing over needs the network, and the server does not answer now. Everything "
            "logged so far stays on this tablet. Try again when the network is back."
        ),
    }


def _about_the_page() -> dict[str, str]:
    """With or without a network, and newer pages."""
    return {
        "kept-cut-off": _(
            "No network. Everything here goes on working; the class is as it was at %(since)s."
        ),
        "kept-cut-off-http": _(
            "No network. Do not close this page: it cannot be opened again without one. The class "
            "is as it was at %(since)s."
        ),
        "kept-ready": _(
            "This page works without the network as well. The class was fetched at %(since)s."
        ),
        "kept-sign-in": _("Your sign-in has ended. The class stays here; logging goes on."),
        "over-http": _(
            "This page cannot be opened without the network: for that the studio has to serve it "
            "over https. What is logged is kept on this tablet all the same."
        ),
        "not-persistent": _(
            "This browser does not promise to keep what waits here if the disk gets full. Let all "
            "be sent before the tablet is put away."
        ),
        "unsigned": _(
            "This browser cannot sign entries. If somebody else sends yours, they are logged, and "
            "count as graded once you confirm them."
        ),
        "newer-waits": _("A newer page is ready."),
        "newer-take": _("Take it now"),
        "box-blocked": _(
            "An older page of the floor is still open in another tab. Close it to go on here: "
            "nothing is lost."
        ),
    }


def _of_an_earlier_day() -> dict[str, str]:
    return {
        "over": _("This class was on %(weekday)s %(date)s. It is over."),
        "over-what": _("Turns of today belong to today's class."),
        "over-log": _("Log for %(date)s"),
        "over-logging": _("You log for %(weekday)s %(date)s, not for today."),
        "over-tonight": _("Today: %(group)s"),
        "over-list": _("Today's classes"),
    }


def _ways_to_log() -> dict[str, str]:
    """The whole line at once, the hold clock, the rep counter, the grades."""
    return {
        "all-clean-but": _("All clean but …"),
        "whole-line": _("All clean but … · %(drill)s"),
        "tap-not-clean": _("Tap each child whose turn was not clean. Then log the whole line."),
        "line-seen": _("%(name)s: what was seen?"),
        "nobody-ready": _("Nobody here may do this drill now."),
        "log-line": _("Log: clean %(clean)s, not clean %(missed)s"),
        "type-number": _("Type the number"),
        "grade-number": _("Grade %(n)s"),
        "hold-clock": _("Hold clock"),
        "hold-ready": _("Tap who does not hold this time. Then start, once for all."),
        "hold-running": _(
            "Tap each child the moment the shape breaks. Tapped wrongly? Tap again: the clock of "
            "that child runs on."
        ),
        "hold-review": _("Tap a child to put a time right. Then log them all."),
        "hold-start": _("Start"),
        "stop-all": _("Stop all"),
        "back": _("Back"),
        "throw-away": _("Throw away"),
        "throw-away-what": _("None of these times is logged."),
        "go-on": _("Go on"),
        "holds-too": _("holds"),
        "holding": _("holding"),
        "left-out-word": _("left out"),
        "seconds-of": _("%(time)s s"),
        "doubtful": _("%(time)s, sure?"),
        "time-of": _("%(name)s: %(time)s s"),
        "runs-on-for": _("%(name)s: runs on"),
        "runs-on": _("Runs on"),
        "half-less": _("½ s less"),
        "half-more": _("½ s more"),
        "put-in": _("Put in again"),
        "keep-it": _("Keep"),
        "leave-it-out": _("Leave out"),
        "doubt": _("Is this right?"),
        "doubt-clock": _(
            "This tablet's clock was set, or it slept, during the hold. Are these times right?"
        ),
        "doubt-reload": _(
            "The page was loaded again during the hold; since then its time is less sure. Are "
            "these times right?"
        ),
        "doubt-of": _("%(name)s: %(time)s s?"),
    }


def _about_sending() -> dict[str, str]:
    return {
        "all-sent": _("All sent"),
        "kept-here": _("Kept on this tablet"),
        "none-waits": _("Nothing waits to be sent."),
        "send-now": _("Send now"),
        "put-away": _("Seen, put away"),
        "save-file": _("Save to a file"),
        "mend": _("Mend"),
        "mend-whose": _("Whose turn was it?"),
        "mend-what": _("Which drill was it?"),
        "mend-nothing": _("No drill of this class takes it. Put it away and log it anew."),
        "another-class": _("An entry of another class."),
        "open-class": _("Open that class"),
        "file-how": _(
            "A director can bring the file in from any computer: sign in there and open "
            "%(address)s. What is in it goes on waiting here until it is sent."
        ),
        "mend-how": _("It is logged anew, with the time at which it was done."),
        "somebody-else": _("somebody else"),
        "others-send": _("tap to send under their name"),
        "others-not-yours": _("that class is not among yours; its own people can send them"),
        "strike-line": _("A turn taken back."),
        "not-on-disk": _("This browser keeps nothing: do not close the page before all is sent."),
        "only-in-this-page": _("only in this page"),
        "no-answer": _("no answer from the server; trying again"),
        "busy": _("the server is busy; trying again"),
        "sign-in": _("sign in again to send"),
        "stale-token": _("the sign-in has changed; trying again"),
        "not-allowed": _("this account may not send them"),
        "not-yours": _("this class is no longer among yours"),
        "not-read": _("the server could not read them; trying again"),
        "broken": _("the server could not take them; trying again"),
        "pack-no-answer": _("The class could not be fetched: no answer from the server."),
        "pack-sign-in": _("Your sign-in has ended. Nothing that was logged is lost."),
        "pack-not-yours": _("This class is not among yours."),
        "pack-newer-page": _("This page has been renewed. Load it again to go on."),
        "to-sign-in": _("Sign in"),
        "try-again": _("Try again"),
    }
