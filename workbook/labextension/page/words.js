// Every word this extension shows. A translation replaces this one file.

export const WORDS = {
  locale: "en-GB",
  category: "Workbook",
  bar: "This page",
  home: "All lessons and exercises",
  showCode: "Show code",
  hideCode: "Hide code",
  startAgain: "Start this page again",
  handIn: "Save and hand in",

  preparing: "Preparing the page…",
  ready: "Ready",
  unprepared: "Part of this page did not start. Your saved answers are safe.",
  stopped: "This page has stopped. Your saved answers are safe.",
  handingIn: "Handing in…",
  waiting: (count) => `Waiting for ${count} ${count === 1 ? "answer" : "answers"} to be saved…`,
  downloadedAt: (time) => `Downloaded at ${time}`,
  handedInAt: (time) => `Handed in at ${time}`,
  notHandedIn: "Not handed in",

  close: "Close",
  goBack: "Go back",
  handInAnyway: "Hand in anyway",
  download: "Download my answers",

  done: {
    title: "Handed in",
    text: (time, date, answered, total) => [
      `Handed in at ${time} on ${date}.`,
      `${answered} of ${total} questions answered.`,
      "You may change answers and hand in again until your educator collects.",
    ],
  },
  given: {
    title: "One more step: send your file",
    text: (name, answered, total, sendTo) => [
      `Your answers were downloaded as ${name}.`,
      `${answered} of ${total} questions answered.`,
      sendTo || "Send that file to your educator, or put it into the folder they named.",
      "Nothing was sent from this page. You may change answers and download again; then send the newer file.",
    ],
  },
  unanswered: {
    title: "Some questions are not answered",
    text: (answered, total) => [
      `${answered} of ${total} questions are answered. These are not:`,
    ],
    after: "You may hand in now, and hand in again later with more answers.",
  },
  unsaved: {
    title: "Not handed in",
    text: () => ["These answers are not saved yet:"],
    after:
      "Nothing was handed in. Choose “Start this page again”, check these answers, then hand in again.",
  },
  failed: {
    title: "Not handed in",
    safe: (file) => `Your answers are safe in ${file}.`,
    retry: "Try again in a few minutes. If it fails again, send that file to your educator.",
    send: "Send that file to your educator, who can mark it from there.",
  },
  cause: {
    nothing: "Nothing on this page is answered yet. Answer at least one question, then hand in.",
    unreadable: (file) => `${file} cannot be read, so it is not clear what to hand in.`,
    notInUnit: "This page is not inside a unit's folder. Open the page from its unit's folder.",
    pageNotSaved: "The page cannot be saved.",
    noServer: "The workbook's server does not reply. It may have been closed.",
    noService: "Hand-in is not set up on this server.",
    noReply: (status) => `The server gave no usable reply to the hand-in (code ${status}).`,
    windows: "Handing in from this page is not possible on Windows.",
    folder: "The hand-in folder of this course cannot be reached.",
    notReleased: "This unit is not open for hand-in in this course.",
    other: (line) => `The hand-in stopped with: ${line}`,
  },
};
