// Every word this extension shows, in the language of a page. The English here is the catalogue's;
// what it is in other languages stands in translations.js.
import { LANGUAGES } from "./translations.js";

/** @import { Point, Translate } from "./lab.js" */

const ENGLISH = "en";
const BRITISH = "en-GB"; // how times and dates are written in English

// Returns the words in a language, in English where there is none such.
/** @param {string | undefined} language */
export function wordsIn(language = ENGLISH) {
  /** @type {Record<string, { direction: string, texts: Record<string, string> }>} */
  const languages = LANGUAGES;
  const known = Object.hasOwn(languages, language) ? languages[language] : null;
  /** @type {Translate} */
  const _ = (text) => known?.texts[text] || text;
  const locale = known ? localeOf(language) : BRITISH;
  return {
    language: known ? language : ENGLISH,
    direction: known?.direction ?? "ltr",
    locale,
    ...barWords(_),
    ...homeWords(_),
    result: resultWords(_, locale),
    connection: connectionWords(_),
    ...handInWords(_),
    again: attemptWords(_),
    failed: failedWords(_),
    cause: causeWords(_),
  };
}

// A language that no browser knows must not stop a hand-in at the time of day.
/** @param {string} language */
function localeOf(language) {
  try {
    return Intl.getCanonicalLocales(language)[0];
  } catch {
    return BRITISH;
  }
}

/** @param {Translate} _ */
function barWords(_) {
  return {
    category: _("Workbook"),
    bar: _("This page"),
    home: _("All lessons and exercises"),
    showCode: _("Show code"),
    hideCode: _("Hide code"),
    startAgain: _("Start this page again"),
    handIn: _("Save and hand in"),
    attempt: _("New attempt or practice"),
    attemptIn: (/** @type {number | null} */ left) => newAttempt(_, left),
    backToMine: _("Back to my answers"),
    practice: _("Practice: nothing here is marked or handed in."),

    preparing: _("Preparing the page…"),
    renewing: _("Preparing the page…"),
    restarting: _("This page stopped, and starts again by itself. Your saved answers are safe."),
    aside: _("This page is open in another window, and that one counts. Answers marked “Saved” are there too."),
    goOnHere: _("Go on here"),
    ready: _("Ready"),
    unprepared: _("Part of this page did not start. Your saved answers are safe."),
    stopped: _("This page has stopped. Your saved answers are safe."),
    handingIn: _("Handing in…"),
    waiting: (/** @type {number} */ count) =>
      count === 1
        ? _("Waiting for 1 answer to be saved…")
        : fill(_("Waiting for {count} answers to be saved…"), { count }),
    downloadedAt: (/** @type {string} */ time) => fill(_("Downloaded at {time}"), { time }),
    handedInAt: (/** @type {string} */ time) => fill(_("Handed in at {time}"), { time }),
    laidOutAt: (/** @type {string} */ time) => fill(_("File to send made at {time}"), { time }),
    notHandedIn: _("Not handed in"),

    close: _("Close"),
    goBack: _("Go back"),
    handInAnyway: _("Hand in anyway"),
    download: _("Download my answers"),
  };
}

/** @param {Translate} _ */
function homeWords(_) {
  return {
    course: _("Your course"),
    noCourse: _("The course cannot be read just now. Answers marked “Saved” are kept. Load this page anew in a moment."),
    next: _("Next"),
    nextIn: (/** @type {number} */ minutes) => fill(_("Next, about {minutes} minutes"), { minutes }),
    nothingNext: _("Everything is handed in. What comes back appears here."),
    begin: _("Begin"),
    goOn: _("Go on"),
    way: _("Your way"),
    lesson: _("Lesson"),
    exercise: _("Exercise"),
    about: (/** @type {number} */ minutes) => fill(_("about {minutes} minutes"), { minutes }),
    notBegun: _("not begun"),
    some: (/** @type {number} */ answered, /** @type {number} */ asked) => fill(_("{answered} of {asked} answered"), { answered, asked }),
    allAnswered: _("all answered"),
    handedInOn: (/** @type {string} */ day) => fill(_("handed in on {day}"), { day }),
    laidOutOn: (/** @type {string} */ day) => fill(_("file to send made on {day}"), { day }),
    toSend: (/** @type {string} */ folder) => fill(_("The files to send to your educator lie in {folder}."), { folder }),
    changedSince: _("answers changed since then: hand in again if they are to count"),
    dueOn: (/** @type {string} */ day) => fill(_("Due on {day}"), { day }),
    overdue: _("the due date is over; you may still hand in"),
    more: _("Also here"),
    how: _("How these pages work"),
    safety: _("For education only; not a medical device. Local protocol, the device's own instructions and licensed practice come first. Ready for the lab does not mean competent: competence is shown hands-on."),
  };
}

/**
 * @param {Translate} _
 * @param {string} locale
 */
function resultWords(_, locale) {
  /** @param {number} value */
  const number = (value) => value.toLocaleString(locale, { maximumFractionDigits: 2 });
  /** @param {Point[]} points */
  const ends = (points) => {
    const pressures = points.map(({ pressure }) => pressure);
    const [first, last] = [points[0], points[points.length - 1]];
    return {
      first: number(Math.round(first.time)), last: number(Math.round(last.time)),
      start: `${number(first.pressure)} cmH2O`, end: `${number(last.pressure)} cmH2O`,
      top: `${number(Math.max(...pressures))} cmH2O`,
    };
  };
  const none = _("none");
  return {
    none,
    yours: _("Your result"),
    see: _("See the result"),
    here: _("Marked:"),
    waits: _("Your result comes when your coordinator has graded."),
    comes: _("Handed in. The result comes here in a moment."),
    better: _("An earlier hand-in is better than your latest, so it counts."),
    earlier: _("of an earlier hand-in; the latest is not marked yet"),
    changed: _("You changed answers after this was marked."),
    points: (/** @type {number} */ earned, /** @type {number} */ possible) =>
      fill(_("{earned} of {possible} points"), { earned: number(earned), possible: number(possible) }),
    standing: {
      ready: _("Ready"), "not-yet": _("Not yet"), unsafe: _("Unsafe act"), unmarked: _("Not marked"),
    },
    doNext: _("Do this next"),
    again: _("Look at this again"),
    allRight: _("Everything was right."),
    right: (/** @type {number} */ count) => count === 1
      ? _("What was right (1 question)")
      : fill(_("What was right ({count} questions)"), { count }),
    rightHere: _("Right here:"),
    answer: (/** @type {string} */ answer) => fill(_("Your answer: {answer}"), { answer: answer || none }),
    answerFold: _("Your answer"),
    grave: {
      hands: _("What your hands did here could harm a baby"),
      act: _("This could harm a baby"),
      others: _("Look again at what your colleague did"),
    },
    belief: _("The answer fits this belief"),
    isTrue: _("What is true"),
    read: _("Read and try"),
    rule: (/** @type {string} */ rule) => fill(_("Rule: {rule}"), { rule }),
    source: (/** @type {string} */ source) => fill(_("Source: {source}"), { source }),
    toQuestion: _("Go to this question"),
    showAt: (/** @type {string} */ time) => fill(_("Show {time} s in your run"), { time: number(Number(time)) }),
    needle: (/** @type {Point[]} */ points) => fill(
      _("From {first} to {last} s the needle went from {start} to {end}; its highest was {top}."),
      ends(points)),
    run: (/** @type {Point[]} */ points) => fill(_("Your whole run of {last} s; the needle's highest was {top}."), ends(points)),
    ownRun: _("Your run"),
    expertsRun: _("An expert's run"),
    expertRun: (/** @type {Point[]} */ points) => fill(
      _("An expert's run of the same case takes {last} s; the needle's highest is {top}."), ends(points)),
  };
}

/** @param {Translate} _ */
function connectionWords(_) {
  return {
    offline: _("You are offline. Answers marked “Saved” are kept; newer ones wait on this page. Leave it open: it goes on by itself when the network is back."),
    noReply: _("The workbook does not reply. Answers marked “Saved” are kept; newer ones wait on this page. It tries again by itself. If the workbook was closed, open it again."),
    back: _("The workbook replies again."),
  };
}

/** @param {Translate} _ */
function handInWords(_) {
  /**
   * @param {number} answered
   * @param {number} total
   */
  const counted = (answered, total) =>
    fill(_("{answered} of {total} questions answered."), { answered, total });
  return {
    done: {
      title: _("Handed in"),
      text: (/** @type {string} */ time, /** @type {string} */ date, /** @type {number} */ answered, /** @type {number} */ total) => [
        fill(_("Handed in at {time} on {date}."), { time, date }),
        counted(answered, total),
        _("You may change answers and hand in again until your educator collects."),
      ],
    },
    given: {
      laid: (/** @type {string} */ file, /** @type {string} */ folder, /** @type {number} */ answered, /** @type {number} */ total) => [
        fill(_("Send the file {file} to your educator. It lies in {folder}."), { file, folder }),
        counted(answered, total),
        _("Nothing was sent from this page. You may change answers and hand in again; then send the newer file."),
      ],
      title: _("One more step: send your file"),
      text: (/** @type {string} */ name, /** @type {number} */ answered, /** @type {number} */ total, /** @type {string} */ sendTo) => [
        fill(_("Your answers were downloaded as {name}."), { name }),
        counted(answered, total),
        sendTo || _("Send that file to your educator, or put it into the folder they named."),
        _("Nothing was sent from this page. You may change answers and download again; then send the newer file."),
      ],
    },
    unanswered: {
      title: _("Some questions are not answered"),
      text: (/** @type {number} */ answered, /** @type {number} */ total) => [
        fill(_("{answered} of {total} questions are answered. These are not:"), { answered, total }),
      ],
      after: _("You may hand in now, and hand in again later with more answers."),
    },
    marked: {
      title: _("These answers are marked"),
      text: (/** @type {number} */ attempt) =>
        fill(_("The result of attempt {attempt} is here. You changed these answers after it:"), { attempt }),
      after: _("Nothing was handed in. Put them back to hand in the others, or start a new attempt: it draws another case."),
    },
    unsaved: {
      title: _("Not handed in"),
      text: () => [_("These answers are not saved yet:")],
      after:
        _("Nothing was handed in. Choose “Start this page again”, check these answers, then hand in again."),
    },
  };
}

// How many attempts are left is null where the course sets no limit.
/**
 * @param {Translate} _
 * @param {number | null} left
 */
function newAttempt(_, left) {
  if (left === null) return _("New attempt or practice");
  if (left === 0) return _("Practise this case");
  if (left === 1) return _("New attempt (1 left) or practice");
  return fill(_("New attempt ({left} left) or practice"), { left });
}

/** @param {Translate} _ */
function attemptWords(_) {
  return {
    title: _("New attempt or practice"),
    text: (/** @type {number} */ attempt, /** @type {number} */ answered, /** @type {number} */ total) => [
      fill(_("This is attempt {attempt}. {answered} of {total} questions are answered."), {
        attempt,
        answered,
        total,
      }),
      _("A new attempt draws a new case. Your answers so far are kept."),
      _("Hand in first if these answers are to count."),
      _("You cannot go back to an earlier attempt."),
      _("Practice is the same case again, empty and without marks."),
    ],
    last: (/** @type {number} */ attempt) => [
      fill(_("Attempt {attempt} is the last that this course allows."), { attempt }),
      _("Practice is the same case again, empty and without marks."),
    ],
    nothing: (/** @type {number} */ attempt) => [
      fill(_("Nothing of attempt {attempt} is answered yet. Answer it first; then you may start another."), { attempt }),
      _("Practice is the same case again, empty and without marks."),
    ],
    start: (/** @type {number} */ attempt) => fill(_("Start attempt {attempt}"), { attempt }),
    practise: _("Practise this case"),
    unsaved: _("These answers are not saved yet:"),
    afterwards: _("Wait until each of them says “Saved”, then choose this again."),
    failed: _("No new attempt was started. Your saved answers are safe."),
  };
}

/** @param {Translate} _ */
function failedWords(_) {
  return {
    title: _("Not handed in"),
    safe: (/** @type {string} */ file) => fill(_("Your answers are safe in {file}."), { file }),
    retry: _("Try again in a few minutes. If it fails again, send that file to your educator."),
    send: _("Send that file to your educator, who can mark it from there."),
  };
}

/** @param {Translate} _ */
function causeWords(_) {
  return {
    nothing: _("Nothing on this page is answered yet. Answer at least one question, then hand in."),
    unreadable: (/** @type {string} */ file) =>
      fill(_("{file} cannot be read, so it is not clear what to hand in."), { file }),
    notInUnit: _("This page is not inside a unit's folder. Open the page from its unit's folder."),
    noServer: _("The workbook's server does not reply. It may have been closed."),
    noService: _("Hand-in is not set up on this server."),
    noReply: (/** @type {number} */ status) =>
      fill(_("The server gave no usable reply to the hand-in (code {status})."), { status }),
    windows: _("Handing in from this page is not possible on Windows."),
    folder: _("The hand-in folder of this course cannot be reached."),
    notReleased: _("This unit is not open for hand-in in this course."),
    other: (/** @type {string} */ line) => fill(_("The hand-in stopped with: {line}"), { line }),
  };
}

// Puts values where a text names them in braces; a name it does not know stays as it is.
/**
 * @param {string} text
 * @param {Record<string, string | number>} values
 */
function fill(text, values) {
  return text.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole));
}
