(() => {
  const say = (text) => {
    let note = document.getElementById("stale");
    if (!text) {
      if (note) note.remove();
      return;
    }
    if (!note) {
      note = document.createElement("p");
      note.id = "stale";
      note.setAttribute("role", "status");
      document.body.append(note);
    }
    note.textContent = text;
  };

  const take = async () => {
    const answer = await fetch(window.location.href, { cache: "no-store" });
    // Its style sheet is this page's own, and would be taken for one that the policy does not know.
    const text = (await answer.text()).replace(/<style[^]*?<\/style>/, "");
    const next = new DOMParser().parseFromString(text, "text/html");
    const [now, then] = [document.getElementById("main"), next.getElementById("main")];
    if (!then || now.dataset.version === then.dataset.version) return;
    const place = window.ohmlinePage.place();
    document.title = next.title;
    document.querySelector("h1").textContent = next.querySelector("h1").textContent;
    const [cases, others] = [document.querySelector(".cases"), next.querySelector(".cases")];
    if (cases && others) cases.replaceWith(others);
    else if (cases) cases.remove();
    else if (others) document.querySelector("h1").after(others);
    now.replaceWith(then);
    window.ohmlinePage.restore(place);
  };

  const news = new EventSource("/news");
  let last = Promise.resolve();
  news.addEventListener("version", () => {
    last = last.then(take).then(() => say("")).catch(() => say("The preview did not answer; this page may be out of date."));
  });
  news.addEventListener("error", () => say("The preview has ended; this page may be out of date."));
  news.addEventListener("open", () => say(""));
})();
