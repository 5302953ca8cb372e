// Keeps who the learner is in this browser, and says why a page did not open.
(() => {
  const NAME = "tpiece-learner";
  const RULE = /^[A-Za-z0-9_@][A-Za-z0-9._@-]{0,63}$/;
  const TOLD = {
    who: "Say who you are first: then open the page again.",
    open: "The workbook is already open in another tab or window of this browser. Go on there, or close it and open the page again here.",
    browser: "This browser, or the way this site is served, cannot keep your answers. Use a current browser, no private window, and an address that begins with https.",
  };
  const field = document.getElementById("learner");
  const told = document.getElementById("told");
  const say = (text) => {
    told.hidden = false;
    told.textContent = text;
  };

  const why = Object.keys(TOLD).find((key) => new URLSearchParams(location.search).has(key));
  if (why) say(TOLD[why]);
  field.value = localStorage.getItem(NAME) ?? "";
  document.getElementById("who").addEventListener("submit", (event) => {
    event.preventDefault();
    const learner = field.value.trim();
    if (!RULE.test(learner)) {
      say("That cannot be an id: use 1 to 64 letters, digits, '.', '-', '_' or '@', not starting with a dot or a hyphen.");
      field.focus();
      return;
    }
    localStorage.setItem(NAME, learner);
    say(`You are ${learner}. Open a lesson or an exercise below.`);
  });
})();
