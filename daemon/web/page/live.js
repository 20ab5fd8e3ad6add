// Keeps a page up to date: what zones draw as it changes, and the whole of it when something else has changed. Without
// it, or without a connection for it, the page is the same and is loaded again.
(() => {
  "use strict";
  const kReloadMs = 30000;  // where events cannot be had
  const kPatienceMs = 5000;  // before it is said that nothing comes
  let source = null, polling = null, silence = null, fresh = false;
  const main = document.getElementById("main");
  const state = document.getElementById("live");
  const told = document.getElementById("told");

  const say = (text) => { if (state && state.textContent !== text) state.textContent = text; };
  const shown = () => main.dataset.version;

  function showZone(zone) {
    for (const place of main.querySelectorAll(`[data-zone="${zone.zone}"]`)) {
      for (const field of ["amps", "when"]) {
        const element = place.querySelector(`[data-field="${field}"]`);
        if (element && element.textContent !== zone[field]) element.textContent = zone[field];
      }
      const pointer = place.querySelector(".pointer");
      if (!pointer) continue;
      pointer.setAttribute("visibility", zone.place === null ? "hidden" : "visible");
      if (zone.place !== null) pointer.setAttribute("transform", `translate(${(zone.place * pointer.dataset.width).toFixed(1)} 0)`);
    }
  }

  // Somebody is filling something in, or has and not sent it: the new page waits.
  function changed(field) {
    if (field.type === "hidden") return false;
    if (field.type === "checkbox") return field.checked !== field.defaultChecked;
    if (!field.matches("select")) return field.value !== field.defaultValue;
    const usual = [...field.options].findIndex((option) => option.defaultSelected);
    return field.selectedIndex !== Math.max(usual, 0);
  }
  const busy = () => (main.contains(document.activeElement) && document.activeElement.matches("input,select,button")) ||
    [...main.querySelectorAll("input,select,textarea")].some(changed);

  function take(page) {
    const next = page.getElementById("main");
    if (!next) return;
    const focused = main.contains(document.activeElement) ? document.activeElement.getAttribute("href") : null;
    const before = main.querySelector("h1")?.textContent, after = next.querySelector("h1")?.textContent;
    const opened = [...main.querySelectorAll("details[id]")].filter((d) => d.open).map((d) => d.id);
    main.replaceChildren(...next.childNodes);
    for (const id of opened) document.getElementById(id)?.setAttribute("open", "");
    main.dataset.version = next.dataset.version;
    document.title = page.title;
    document.getElementById("clock").replaceChildren(...page.getElementById("clock").childNodes);
    if (focused) main.querySelector(`a[href="${CSS.escape(focused)}"]`)?.focus({preventScroll: true});
    if (told && after && before !== after) told.textContent = after;
    document.dispatchEvent(new Event("coilward-page"));
  }

  async function refresh() {
    if (fresh) return;
    if (busy()) return void (main.dataset.late = "1");
    delete main.dataset.late;
    fresh = true;
    try {
      const answer = await fetch(location.href, {headers: {Accept: "text/html"}});
      if (answer.redirected) return location.assign(answer.url);  // logged out meanwhile
      if (answer.ok) take(new DOMParser().parseFromString(await answer.text(), "text/html"));
    } catch { say("No connection; trying again"); }
    fresh = false;
  }

  function poll() {
    say("Loaded again every half minute");
    polling ??= setInterval(refresh, kReloadMs);
  }

  function listen() {
    if (source || polling || !window.EventSource) return source || poll();
    source = new EventSource("/events");
    source.addEventListener("open", () => { clearTimeout(silence); silence = null; say("Live"); });
    source.addEventListener("zone", (event) => showZone(JSON.parse(event.data)));
    source.addEventListener("version", (event) => { if (event.data !== shown()) refresh(); });
    source.addEventListener("error", () => {
      silence ??= setTimeout(() => say("No connection; trying again"), kPatienceMs);
      if (source && source.readyState === EventSource.CLOSED) { clearTimeout(silence); source = null; poll(); }
    });
  }

  // A page that nobody looks at takes no events.
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) return listen();
    source?.close();
    source = null;
  });
  document.addEventListener("focusout", () => setTimeout(() => { if (main.dataset.late) refresh(); }, 0));
  if (new URLSearchParams(location.search).has("said")) {
    const address = new URL(location.href);
    address.searchParams.delete("said");
    history.replaceState(null, "", address);
  }
  listen();
})();
