// The controls above two pictures. Python turns a position into pictures and words; here they are
// only shown, with the last state as a pale ghost, and held back while somebody predicts.
const make = (tag, to, set = {}) => {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(set))
    name in made ? (made[name] = value) : made.setAttribute(name, value);
  to.append(made);
  return made;
};

function render({ model, el }) {
  el.classList.add("tr-panel");
  el.addEventListener("keydown", (event) => event.stopPropagation()); // keys belong to the controls
  const send = (change) => {
    model.set("at", { ...model.get("at"), ...change });
    model.save_changes();
  };

  const controls = make("fieldset", el, { className: "tr-controls" });
  const sliders = model.get("controls").map(({ name, label, options }) => {
    const row = make("label", controls);
    make("span", row, { textContent: label + ": " });
    const told = make("output", row);
    const slider = make("input", row, { type: "range", min: 0, max: options.length - 1, step: 1 });
    slider.setAttribute("aria-label", label);
    const show = (index) => {
      slider.value = index;
      told.textContent = options[index];
      slider.setAttribute("aria-valuetext", options[index]);
    };
    slider.addEventListener("input", () => {
      show(slider.value);
      send({ [name]: Number(slider.value) });
      if (guess.checked && !waiting) ask();
    });
    return { name, show };
  });

  const row = make("div", el, { className: "tr-row" });
  const seconds = make("fieldset", row, { className: "tr-row", role: "radiogroup" });
  seconds.setAttribute("aria-label", "Second picture");
  const group = "second-" + Math.random().toString(36).slice(2);
  for (const { name, short } of model.get("seconds")) {
    const choice = make("label", seconds, { className: "tr-choice" });
    const radio = make("input", choice, { type: "radio", name: group, value: name });
    radio.checked = model.get("at").second === name;
    radio.addEventListener("change", () => send({ second: name }));
    choice.append(" " + short);
  }
  const reset = make("button", row, { type: "button", textContent: "Reset" });
  reset.addEventListener("click", () => send(model.get("start")));
  const predict = make("label", row, { className: "tr-choice" });
  const guess = make("input", predict, { type: "checkbox" });
  predict.append(" Predict, then reveal");
  const full = make("button", row, { type: "button", textContent: "Full screen" });
  full.addEventListener("click", () =>
    document.fullscreenElement ? document.exitFullscreen() : el.requestFullscreen());

  const tasks = model.get("tasks");
  let task = 0;
  const work = make("div", el, { className: "tr-row" });
  const step = (by) => {
    task = (task + by + tasks.length) % tasks.length;
    told.textContent = `Task ${task + 1} of ${tasks.length}. ${tasks[task]}`;
  };
  make("button", work, { type: "button", textContent: "‹", ariaLabel: "Previous task" })
    .addEventListener("click", () => step(-1));
  make("button", work, { type: "button", textContent: "›", ariaLabel: "Next task" })
    .addEventListener("click", () => step(1));
  const told = make("p", work, { className: "tr-task" });
  step(0);

  const question = make("div", el, { className: "tr-question tr-row", hidden: true });
  const answer = make("p", el, { role: "status", hidden: true });
  const stage = make("div", el, { className: "tr-stage" });
  const figures = [make("figure", stage), make("figure", stage)];
  const words = make("p", el, { role: "status", className: "tr-words" });
  const equations = make("div", el, { className: "tr-eq" });
  const late = make("p", el, { role: "alert", hidden: true, textContent: "Python has not answered yet. If it has stopped or was restarted, run all cells again." });

  // The second picture that stands there; what was predicted before Python had answered.
  let waiting = false, last = null, drawn = "", predicted = null;
  const ask = () => {
    waiting = true;
    answer.hidden = true;
    question.hidden = false;
    question.replaceChildren("The pictures show the joint before. What does the ratio, repaired over original, do?");
    for (const [said, sign] of [["It rises", 1], ["It stays", 0], ["It falls", -1]])
      make("button", question, { type: "button", textContent: said })
        .addEventListener("click", () => { predicted = [said, sign]; reveal(); });
  };
  const reveal = () => {
    if (!predicted || !fits()) return;
    const [said, sign] = predicted;
    predicted = null;
    const now = model.get("shown").ratio, change = now / last.ratio - 1;
    const is = Math.abs(change) < 0.005 ? 0 : Math.sign(change);
    const truth = { "1": "rises", "0": "stays", "-1": "falls" }[is];
    answer.textContent = `${is === sign ? "Right" : "Not so"}: predicted “${said}”; the ratio ${truth}, ` +
      `from ${last.ratio.toPrecision(3)} to ${now.toPrecision(3)}.`;
    answer.hidden = false;
    waiting = false;
    question.hidden = true;
    update();
  };
  guess.addEventListener("change", () => {
    if (!guess.checked) { waiting = false; predicted = null; question.hidden = answer.hidden = true; update(); }
  });

  const picture = (index, svg, same) => {
    const ghost = same && figures[index].querySelector(".moving:not(.ghost)");
    figures[index].innerHTML = svg;
    if (ghost) {
      ghost.classList.add("ghost");
      figures[index].querySelector(".moving").before(ghost);
    }
  };
  // Controls move without Python too, as after a restart: then no picture of another position stands.
  const fits = () => JSON.stringify(model.get("shown").at) === JSON.stringify(model.get("at"));
  let patience;
  const follow = () => {
    clearTimeout(patience);
    const show = () => {
      late.hidden = fits();
      for (const each of [stage, words, equations]) each.hidden = !fits();
    };
    fits() ? show() : (patience = setTimeout(show, 3000));
  };
  const update = () => {
    const shown = model.get("shown");
    follow();
    if (waiting) return reveal();
    figures[1].classList.toggle("pending", !shown.pictures[1]);
    if (!last || last.pictures[0] !== shown.pictures[0])
      picture(0, shown.pictures[0], last);
    if (shown.pictures[1] && (!last || last.pictures[1] !== shown.pictures[1]))
      picture(1, shown.pictures[1], drawn === shown.second) || (drawn = shown.second);
    words.textContent = shown.words;
    equations.innerHTML = shown.equations;
    last = { ...shown, pictures: [shown.pictures[0], shown.pictures[1] || last?.pictures[1]] };
  };
  const place = () => {
    for (const { name, show } of sliders) show(model.get("at")[name]);
    follow();
  };
  model.on("change:shown", update);
  model.on("change:at", place);
  place();
  update();
}

export default { render };
