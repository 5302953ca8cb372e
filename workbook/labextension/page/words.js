// @ts-nocheck
// Every word this extension shows, in the language of a page. The English here is the catalogue's;
// what it is in other languages stands in translations.js.
import { LANGUAGES } from "./translations.js";

const ENGLISH = "en";
const BRITISH = "en-GB"; // how times and dates are written in English

// Returns the words in a language, in English where there is none such.
export function wordsIn(language) {
  const known = Object.hasOwn(LANGUAGES, language) ? LANGUAGES[language] : null;
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
function localeOf(language) {
  try {
    return Intl.getCanonicalLocales(language)[0];
  } catch {
    return BRITISH;
  }
}

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
    attemptIn: (left) => newAttempt(_, left),
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
    waiting: (count) =>
      count === 1
        ? _("Waiting for 1 answer to be saved…")
        : fill(_("Waiting for {count} answers to be saved…"), { count }),
    downloadedAt: (time) => fill(_("Downloaded at {time}"), { time }),
    handedInAt: (time) => fill(_("Handed in at {time}"), { time }),
    laidOutAt: (time) => fill(_("File to send made at {time}"), { time }),
    notHandedIn: _("Not handed in"),

    close: _("Close"),
    goBack: _("Go back"),
    handInAnyway: _("Hand in anyway"),
    download: _("Download my answers"),
  };
}

function homeWords(_) {
  return {
    course: _("Your course"),
    noCourse: _("The course cannot be read just now. Answers marked “Saved” are kept. Load this page anew in a moment."),
    next: _("Next"),
    nextIn: (minutes) => fill(_("Next, about {minutes} minutes"), { minutes }),
    nothingNext: _("Everything is handed in. What comes back appears here."),
    begin: _("Begin"),
    goOn: _("Go on"),
    way: _("Your way"),
    lesson: _("Lesson"),
    exercise: _("Exercise"),
    about: (minutes) => fill(_("about {minutes} minutes"), { minutes }),
    notBegun: _("not begun"),
    some: (answered, asked) => fill(_("{answered} of {asked} answered"), { answered, asked }),
    allAnswered: _("all answered"),
    handedInOn: (day) => fill(_("handed in on {day}"), { day }),
    laidOutOn: (day) => fill(_("file to send made on {day}"), { day }),
    toSend: (folder) => fill(_("The files to send to your educator lie in {folder}."), { folder }),
    changedSince: _("answers changed since then: hand in again if they are to count"),
    dueOn: (day) => fill(_("Due on {day}"), { day }),
    overdue: _("the due date is over; you may still hand in"),
    more: _("Also here"),
    how: _("How these pages work"),
    safety: _("For education only; not a medical device. Local protocol, the device's own instructions and licensed practice come first. Ready for the lab does not mean competent: competence is shown hands-on."),
  };
}

function resultWords(_, locale) {
  const number = (value) => value.toLocaleString(locale, { maximumFractionDigits: 2 });
  const ends = (points) => {
    const pressures = points.map(({ pressure }) => pressure);
    const [first, last] = [points[0], points.at(-1)];
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
    points: (earned, possible) =>
      fill(_("{earned} of {possible} points"), { earned: number(earned), possible: number(possible) }),
    standing: {
      ready: _("Ready"), "not-yet": _("Not yet"), unsafe: _("Unsafe act"), unmarked: _("Not marked"),
    },
    doNext: _("Do this next"),
    again: _("Look at this again"),
    allRight: _("Everything was right."),
    right: (count) => count === 1
      ? _("What was right (1 question)")
      : fill(_("What was right ({count} questions)"), { count }),
    rightHere: _("Right here:"),
    answer: (answer) => fill(_("Your answer: {answer}"), { answer: answer || none }),
    answerFold: _("Your answer"),
    grave: {
      hands: _("What your hands did here could harm a baby"),
      act: _("This could harm a baby"),
      others: _("Look again at what your colleague did"),
    },
    belief: _("The answer fits this belief"),
    isTrue: _("What is true"),
    read: _("Read and try"),
    rule: (rule) => fill(_("Rule: {rule}"), { rule }),
    source: (source) => fill(_("Source: {source}"), { source }),
    toQuestion: _("Go to this question"),
    showAt: (time) => fill(_("Show {time} s in your run"), { time: number(Number(time)) }),
    needle: (points) => fill(
      _("From {first} to {last} s the needle went from {start} to {end}; its highest was {top}."),
      ends(points)),
    run: (points) => fill(_("Your whole run of {last} s; the needle's highest was {top}."), ends(points)),
    ownRun: _("Your run"),
    expertsRun: _("An expert's run"),
    expertRun: (points) => fill(
      _("An expert's run of the same case takes {last} s; the needle's highest is {top}."), ends(points)),
  };
}

function connectionWords(_) {
  return {
    offline: _("You are offline. Answers marked “Saved” are kept; newer ones wait on this page. Leave it open: it goes on by itself when the network is back."),
    noReply: _("The workbook does not reply. Answers marked “Saved” are kept; newer ones wait on this page. It tries again by itself. If the workbook was closed, open it again."),
    back: _("The workbook replies again."),
  };
}

function handInWords(_) {
  const counted = (answered, total) =>
    fill(_("{answered} of {total} questions answered."), { answered, total });
  return {
    done: {
      title: _("Handed in"),
      text: (time, date, answered, total) => [
        fill(_("Handed in at {time} on {date}."), { time, date }),
        counted(answered, total),
        _("You may change answers and hand in again until your educator collects."),
      ],
    },
    given: {
      laid: (file, folder, answered, total) => [
        fill(_("Send the file {file} to your educator. It lies in {folder}."), { file, folder }),
        counted(answered, total),
        _("Nothing was sent from this page. You may change answers and hand in again; then send the newer file."),
      ],
      title: _("One more step: send your file"),
      text: (name, answered, total, sendTo) => [
        fill(_("Your answers were downloaded as {name}."), { name }),
        counted(answered, total),
        sendTo || _("Send that file to your educator, or put it into the folder they named."),
        _("Nothing was sent from this page. You may change answers and download again; then send the newer file."),
      ],
    },
    unanswered: {
      title: _("Some questions are not answered"),
      text: (answered, total) => [
        fill(_("{answered} of {total} questions are answered. These are not:"), { answered, total }),
      ],
      after: _("You may hand in now, and hand in again later with more answers."),
    },
    marked: {
      title: _("These answers are marked"),
      text: (attempt) =>
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
function newAttempt(_, left) {
  if (left === null) return _("New attempt or practice");
  if (left === 0) return _("Practise this case");
  if (left === 1) return _("New attempt (1 left) or practice");
  return fill(_("New attempt ({left} left) or practice"), { left });
}

function attemptWords(_) {
  return {
    title: _("New attempt or practice"),
    text: (attempt, answered, total) => [
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
    last: (attempt) => [
      fill(_("Attempt {attempt} is the last that this course allows."), { attempt }),
      _("Practice is the same case again, empty and without marks."),
    ],
    nothing: (attempt) => [
      fill(_("Nothing of attempt {attempt} is answered yet. Answer it first; then you may start another."), { attempt }),
      _("Practice is the same case again, empty and without marks."),
    ],
    start: (attempt) => fill(_("Start attempt {attempt}"), { attempt }),
    practise: _("Practise this case"),
    unsaved: _("These answers are not saved yet:"),
    afterwards: _("Wait until each of them says “Saved”, then choose this again."),
    failed: _("No new attempt was started. Your saved answers are safe."),
  };
}

function failedWords(_) {
  return {
    title: _("Not handed in"),
    safe: (file) => fill(_("Your answers are safe in {file}."), { file }),
    retry: _("Try again in a few minutes. If it fails again, send that file to your educator."),
    send: _("Send that file to your educator, who can mark it from there."),
  };
}

function causeWords(_) {
  return {
    nothing: _("Nothing on this page is answered yet. Answer at least one question, then hand in."),
    unreadable: (file) =>
      fill(_("{file} cannot be read, so it is not clear what to hand in."), { file }),
    notInUnit: _("This page is not inside a unit's folder. Open the page from its unit's folder."),
    noServer: _("The workbook's server does not reply. It may have been closed."),
    noService: _("Hand-in is not set up on this server."),
    noReply: (status) =>
      fill(_("The server gave no usable reply to the hand-in (code {status})."), { status }),
    windows: _("Handing in from this page is not possible on Windows."),
    folder: _("The hand-in folder of this course cannot be reached."),
    notReleased: _("This unit is not open for hand-in in this course."),
    other: (line) => fill(_("The hand-in stopped with: {line}"), { line }),
  };
}

// Puts values where a text names them in braces; a name it does not know stays as it is.
function fill(text, values) {
  return text.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? values[name] : whole));
}
