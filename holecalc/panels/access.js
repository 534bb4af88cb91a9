// What a screen reader needs of a panel and ipywidgets has no words for.
//
// Sliders get their label as their name, and say what they stand for rather than how many steps they
// have gone: what is told of them below, or what they fill in above. A field points to what stands beside and below it, and is
// invalid while it is marked wrong. What is told first is said in a live region that was there from
// the start, once the panel has been quiet for a while: a slider is not talked over at every step.

const QUIET = 700;

let count = 0;
function idOf(element) {
  element.id ||= `holecalc-${++count}`;
  return element.id;
}

function set(element, name, value) {
  if (element.getAttribute(name) !== value) element.setAttribute(name, value);
}

function sizeOf(slider) {
  const told = slider.nextElementSibling;
  if (told?.matches(".holecalc-beside")) return told.innerText.trim();
  return slider.previousElementSibling?.querySelector("input")?.value;
}

function name(panel) {
  for (const slider of panel.querySelectorAll(".widget-slider")) {
    const label = slider.querySelector(".widget-label");
    const handle = slider.querySelector("[role=slider]");
    if (!label || !handle) continue;
    set(handle, "aria-label", label.textContent);
    const size = sizeOf(slider);
    if (size) set(handle, "aria-valuetext", size);
  }
  for (const field of panel.querySelectorAll(".holecalc-field")) {
    const entry = field.querySelector("input, textarea");
    if (!entry) continue;
    const beside = [...field.querySelectorAll(".holecalc-beside")];
    set(entry, "aria-describedby", beside.map(idOf).join(" "));
    set(entry, "aria-invalid", String(field.querySelector(".holecalc-wrong") !== null));
  }
}

const WRONG = ".holecalc-field:has(.holecalc-wrong) .holecalc-beside .holecalc-why";

function told(panel) {
  let parts = panel.querySelector(".headline") ? ".headline, .counts" : ".spoken";
  if (panel.querySelector(".trouble")) parts = `.trouble, ${WRONG}`;
  const texts = [...panel.querySelectorAll(parts)].map((part) => part.innerText);
  return texts.join("; ").replace(/\s+/g, " ");
}

// What was unfolded stays so when it is written anew.
function keepUnfolded(panel, open) {
  for (const fold of panel.querySelectorAll("details[data-topic]")) {
    fold.open ||= open.has(fold.dataset.topic);
  }
}

function render({ el }) {
  const live = document.createElement("div");
  live.className = "holecalc-live";
  live.setAttribute("role", "status");
  el.append(live);

  let waiting, last, observer;
  const open = new Set();
  function say(panel) {
    const now = told(panel);
    if (last !== undefined && now !== last) live.textContent = now;
    last = now;
  }
  function attach() {
    const panel = el.closest(".holecalc");
    // Widgets are put together from the inside.
    if (!panel) return void (waiting = setTimeout(attach, 50));
    const changed = () => {
      name(panel);
      keepUnfolded(panel, open);
      clearTimeout(waiting);
      waiting = setTimeout(say, QUIET, panel);
    };
    observer = new MutationObserver((records) => {
      if (records.some((record) => !el.contains(record.target))) changed();
    });
    const folded = ({ target }) => {
      if (!target.dataset.topic || !target.isConnected) return;
      if (target.open) open.add(target.dataset.topic);
      else open.delete(target.dataset.topic);
    };
    panel.addEventListener("toggle", folded, true);
    const watched = { subtree: true, childList: true, attributes: true, attributeFilter: ["class"] };
    observer.observe(panel, watched);
    changed();
  }
  attach();
  return () => {
    clearTimeout(waiting);
    observer?.disconnect();
  };
}

export default { render };
