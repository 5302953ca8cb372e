// Keeps who the learner is in this browser, and says why a page did not open.
(() => {
  const NAME = "tpiece-learner";
  const RULE = /^[A-Za-z0-9_@][A-Za-z0-9._@-]{0,63}$/;
  const REASONS = ["who", "open", "browser"];
  const field = document.getElementById("learner");
  const told = document.getElementById("told");
  const words = told.dataset; // in the language of the course
  const say = (text) => {
    told.hidden = false;
    told.textContent = text;
  };

  const why = REASONS.find((key) => new URLSearchParams(location.search).has(key));
  if (why) say(words[why]);
  field.value = localStorage.getItem(NAME) ?? "";
  document.getElementById("who").addEventListener("submit", (event) => {
    event.preventDefault();
    const learner = field.value.trim();
    if (!RULE.test(learner)) {
      say(words.noId);
      field.focus();
      return;
    }
    localStorage.setItem(NAME, learner);
    say(words.kept.replace("{learner}", () => learner));
  });
})();
