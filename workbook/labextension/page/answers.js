// What is answered, from the answers file; and the wait until every answer is saved.

const WAIT_MS = 20000;

/** @typedef {{ id: string, label?: string }} Question */

/** @param {string} notebookPath */
export function answersPath(notebookPath) {
  return notebookPath.replace(/\.ipynb$/i, "") + ".answers.jsonl";
}

/**
 * Returns {course, learner, attempt, total, answered, missing: [labels]} of the latest attempt; null
 * when the head cannot be read.
 *
 * @param {string} text
 */
export function countAnswers(text) {
  const [head, ...lines] = text.split("\n").map(parse);
  if (!head || typeof head.course !== "string" || !Array.isArray(head.questions)) return null;
  /** @type {Map<unknown, unknown>[]} */
  const attempts = [new Map()];
  for (const line of lines) {
    const of = /** @type {number} */ (line?.attempt ?? 1);
    if (line && "value" in line) attempts[of - 1]?.set(line.question, line.value);
    else if (of === attempts.length + 1) attempts.push(new Map());
  }
  const latest = /** @type {Map<unknown, unknown>} */ (attempts.at(-1));
  const missing = /** @type {Question[]} */ (head.questions).filter(({ id }) => (latest.get(id) ?? null) === null);
  return {
    course: head.course,
    learner: String(head.learner ?? ""),
    attempt: attempts.length,
    total: head.questions.length,
    answered: head.questions.length - missing.length,
    missing: missing.map(({ id, label }) => label || id),
  };
}

/**
 * A line cut short by a crash is no answer; the lines around it still are.
 *
 * @param {string} line
 * @returns {Record<string, unknown> | null}
 */
function parse(line) {
  try {
    const value = JSON.parse(line);
    return value && typeof value === "object" ? value : null;
  } catch {
    return null;
  }
}

/** @returns {Map<string, string>} */
export function unsaved() {
  return globalThis.tpieceUnsaved ?? new Map();
}

/**
 * Resolves with the labels still unsaved: none as soon as all are saved, else after the wait.
 *
 * @param {(count: number) => void} onWait
 * @returns {Promise<string[]>}
 */
export function allSaved(onWait, wait = WAIT_MS) {
  return new Promise((resolve) => {
    const finish = () => {
      clearTimeout(timer);
      document.removeEventListener("tpiece-unsaved", look);
      resolve([...unsaved().values()]);
    };
    const look = () => (unsaved().size ? onWait(unsaved().size) : finish());
    const timer = setTimeout(finish, wait);
    document.addEventListener("tpiece-unsaved", look);
    look();
  });
}
