"use strict";
// Follows the changes of the study: the state above, the answers in a frame that keeps its place when it is renewed.
const element = (name) => document.getElementById(name);
let answer = 0;
let drawing = 0;

function renew(number) {
  const old = element("answers");
  const next = old.cloneNode(false);
  next.hidden = true;
  next.src = `answer/${number}`;
  next.addEventListener("load", () => {
    const top = old.contentWindow ? old.contentWindow.scrollY : 0;
    next.hidden = false;
    next.contentWindow.scrollTo(0, top);
    old.remove();
  }, {once: true});
  for (const waiting of document.querySelectorAll("iframe:not(#answers)")) waiting.remove();
  old.removeAttribute("id");
  old.after(next);
}

function sayProblems(shown) {
  const wrong = shown.phase === "mistakes" || shown.phase === "failed";
  element("mistakes").hidden = !wrong;
  element("verdict").hidden = wrong || !shown.verdict;
  element("verdict").textContent = shown.verdict;
  element("stale").textContent = shown.answer
    ? `Below are still the answers of ${shown.answered_at}, not those of the file as it is now.`
    : "There is no answer yet.";
  element("problems").replaceChildren(...shown.problems.map((problem) => {
    const line = document.createElement("li");
    line.textContent = problem.text;
    return line;
  }));
}

function show(shown) {
  element("title").textContent = shown.title || "trayfield";
  const sign = {mistakes: "mistakes: ", failed: "failed: ", solving: "solving: "}[shown.phase] || "";
  document.title = sign + (shown.title || "trayfield");
  element("state").dataset.phase = shown.phase;
  element("state").textContent = shown.saved_at ? `File of ${shown.saved_at}: ${shown.words}` : shown.words;
  sayProblems(shown);
  if (shown.drawing !== drawing) {
    drawing = shown.drawing;
    element("section").hidden = drawing === 0;
    element("drawing").src = `drawing/${drawing}`;
  }
  if (shown.answer !== answer) {
    answer = shown.answer;
    if (answer) renew(answer);
  }
}

const changes = new EventSource("changes");
changes.addEventListener("message", (event) => show(JSON.parse(event.data)));
changes.addEventListener("error", () => {
  element("state").dataset.phase = "ended";
  element("state").textContent = "The program has ended or cannot be reached; the answers below stay as they are.";
  answer = -1; // a program that is started again counts from one
  drawing = -1;
});
