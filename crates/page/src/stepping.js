"use strict";
(() => {
  const root = document.documentElement;
  const $ = (id) => document.getElementById(id);
  const key = "ohmline-theme";
  let at = 0; // 0 is the whole circuit, then the steps.
  let pinned = null; // The element whose values are shown.

  const steps = () => [...document.querySelectorAll(".step")];
  const speaksOf = (step) => (step.dataset.about || "").split(" ");

  // The drawing that belongs to a step: its own, else the last one before it.
  const drawingOf = (number) => {
    const all = steps();
    for (let index = number - 1; index >= 0; index -= 1) {
      const figure = all[index].querySelector("figure");
      if (figure) return figure;
    }
    return $("whole");
  };

  const copyOf = (figure) => {
    const copy = figure.cloneNode(true);
    copy.removeAttribute("id");
    const svg = copy.querySelector("svg");
    if (svg) {
      svg.removeAttribute("aria-labelledby");
      for (const part of ["title", "desc"]) {
        const own = svg.querySelector(part);
        if (!own) continue;
        if (part === "title") svg.setAttribute("aria-label", own.textContent);
        own.removeAttribute("id");
      }
    }
    return copy;
  };

  const show = (number, options = {}) => {
    const all = steps();
    at = Math.max(0, Math.min(number, all.length));
    all.forEach((step, index) => {
      const here = index + 1 === at;
      step.classList.toggle("here", here);
      if (here) step.setAttribute("aria-current", "step");
      else step.removeAttribute("aria-current");
    });
    const whole = $("whole");
    const shown = $("shown");
    if (whole && shown) {
      const figure = drawingOf(at);
      const own = figure !== whole;
      whole.hidden = own;
      shown.hidden = !own;
      shown.replaceChildren(...(own ? [copyOf(figure)] : []));
    }
    $("where").textContent = at === 0 ? "Whole circuit" : `Step ${at} of ${all.length}`;
    $("back").disabled = at === 0;
    $("on").disabled = at === all.length;
    reach();
    mark();
    if (options.scroll !== false) {
      if (at === 0) window.scrollTo({ top: 0 });
      else all[at - 1].scrollIntoView({ block: "start" });
    }
  };

  // A drawing that is too wide shrinks while it can still be read, and is then pushed sideways.
  const smallest = 0.65;

  // What is drawn on the stage can be reached by the keyboard.
  const reach = () => {
    for (const svg of document.querySelectorAll(".stage svg")) {
      svg.style.minWidth = `${Math.round(smallest * svg.width.baseVal.value)}px`;
    }
    for (const part of document.querySelectorAll(".stage [data-element]")) {
      part.setAttribute("tabindex", "0");
      part.setAttribute("role", "button");
      part.setAttribute("aria-label", sentence(part.dataset.element));
    }
  };

  const rowOf = (name) => [...document.querySelectorAll("tr[data-row]")].find((row) => row.dataset.row === name);

  // What is known of an element, in one line, from the table.
  const sentence = (name) => {
    const row = rowOf(name);
    if (row) {
      const headings = [...row.closest("table").querySelectorAll("tr:first-child th")].map((cell) => cell.textContent);
      const cells = [...row.children].map((cell) => cell.textContent.trim());
      const said = cells.slice(1).map((text, index) => (text ? `${headings[index + 1]} ${text}`.trim() : "")).filter(Boolean);
      return `${name}: ${said.join(", ")}`;
    }
    const step = steps().find((own) => speaksOf(own).includes(name));
    return step ? `${name}: ${step.querySelector("h3").textContent}` : name;
  };

  // Marks the element pointed at wherever it stands.
  const mark = () => {
    for (const part of document.querySelectorAll(".ohm [data-element]")) {
      part.classList.toggle("pointed", part.dataset.element === pinned);
    }
    for (const row of document.querySelectorAll("tr[data-row]")) row.classList.toggle("pointed", row.dataset.row === pinned);
    for (const step of steps()) step.classList.toggle("speaks", pinned !== null && speaksOf(step).includes(pinned));
    const about = $("about");
    if (about) {
      about.hidden = pinned === null;
      about.textContent = pinned === null ? "" : sentence(pinned);
    }
  };

  const point = (name) => {
    if (pinned === name) return;
    pinned = name;
    mark();
  };

  const partAt = (event) => event.target.closest && event.target.closest(".stage [data-element], tr[data-row]");
  const nameOf = (part) => part.dataset.element || part.dataset.row;

  // Leads to the next step that speaks of an element.
  const follow = (name) => {
    const all = steps();
    const after = [...all.keys()].map((index) => (index + at) % all.length);
    const next = after.find((index) => index + 1 !== at && speaksOf(all[index]).includes(name));
    if (next !== undefined) show(next + 1);
  };

  document.addEventListener("mouseover", (event) => {
    const part = partAt(event);
    if (part) point(nameOf(part));
  });
  document.addEventListener("focusin", (event) => {
    const part = partAt(event);
    if (part) point(nameOf(part));
  });
  document.addEventListener("click", (event) => {
    const part = partAt(event);
    if (part) {
      point(nameOf(part));
      follow(nameOf(part));
      return;
    }
    const step = event.target.closest && event.target.closest(".step");
    if (step && !window.getSelection().toString()) show(steps().indexOf(step) + 1, { scroll: false });
  });
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const part = partAt(event);
    if (part && (event.key === "Enter" || event.key === " ")) {
      follow(nameOf(part));
    } else if (event.key === "ArrowRight") {
      show(at + 1);
    } else if (event.key === "ArrowLeft") {
      show(at - 1);
    } else if (event.key === "Home") {
      show(0);
    } else if (event.key === "End") {
      show(steps().length);
    } else if (event.key === "Escape") {
      point(null);
      show(0);
    } else {
      return;
    }
    event.preventDefault();
  });
  $("back").addEventListener("click", () => show(at - 1));
  $("on").addEventListener("click", () => show(at + 1));
  $("light").addEventListener("click", () => {
    const dark = root.dataset.theme ? root.dataset.theme === "dark" : window.matchMedia("(prefers-color-scheme: dark)").matches;
    root.dataset.theme = dark ? "light" : "dark";
    try { window.localStorage.setItem(key, root.dataset.theme); } catch { /* A browser may keep nothing; then it is asked again. */ }
  });
  try {
    const kept = window.localStorage.getItem(key);
    if (kept === "light" || kept === "dark") root.dataset.theme = kept;
  } catch { /* As above. */ }

  // The header stays on top; what stays below it has to know how high it is.
  const measure = () => root.style.setProperty("--head", `${document.querySelector("header").offsetHeight}px`);
  window.addEventListener("resize", measure);

  const ready = () => {
    const any = steps().length > 0;
    root.classList.add("stepping");
    document.querySelector(".controls").hidden = false;
    document.querySelector(".steps").hidden = !any;
    measure();
  };

  // For a page that is replaced by its successor: the place is kept.
  window.ohmlinePage = {
    place: () => {
      const all = steps();
      const focused = document.activeElement && document.activeElement.dataset ? document.activeElement.dataset.element : undefined;
      return { at, heading: at ? all[at - 1].querySelector("h3").textContent : null, pinned, focused, scroll: window.scrollY };
    },
    restore: (place) => {
      ready();
      pinned = place.pinned;
      const same = place.heading === null ? -1 : steps().findIndex((step) => step.querySelector("h3").textContent === place.heading);
      show(same >= 0 ? same + 1 : place.at, { scroll: false });
      window.scrollTo({ top: place.scroll });
      if (place.focused) {
        const part = [...document.querySelectorAll(".stage [data-element]")].find((own) => own.dataset.element === place.focused);
        if (part) part.focus({ preventScroll: true });
      }
    },
  };
  ready();
  show(0, { scroll: false });
})();
