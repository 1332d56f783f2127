// Draws the view that the program sends; decides nothing. Clocks are counted from deadlines in kitchen time, which every heartbeat carries.
"use strict";
(() => {
  const $ = (id) => document.getElementById(id);
  const LOST_MS = 2500, AGAIN_MS = 1000, WORDS = { danger: "Danger", alarm: "Act now", due: "Now due", hold: "Hold" };
  let view = null, offset = 0, beat = performance.now(), after = "", source = null, touch = false, lost = false;

  // --- sizes by visual angle: text 13 mm of capital height at 2 m (22 minutes of arc), figures 35 mm

  const stored = (name, usual) => { try { return localStorage.getItem(name) || usual; } catch { return usual; } };
  const store = (name, value) => { try { localStorage.setItem(name, value); } catch { /* a private window forgets */ } };
  const asked = new URLSearchParams(location.search);
  const small = () => Math.min(screen.width, screen.height) < 500;
  const coarse = () => matchMedia("(pointer: coarse)").matches;
  const setting = {
    distance: () => Number(asked.get("distance") || stored("distance", small() ? 0.6 : 2)),
    inches: () => Number(asked.get("inches") || stored("inches", small() ? 6.1 : coarse() ? 10 : 14)),
  };
  const capital = (family) => {
    const pen = document.createElement("canvas").getContext("2d");
    pen.font = `700 500px ${family}`;
    return pen.measureText("H").actualBoundingBoxAscent / 500 || 0.7;
  };
  function size() {
    const root = document.documentElement, css = getComputedStyle(root);
    const mm = Math.hypot(screen.width, screen.height) / (setting.inches() * 25.4), d = setting.distance();
    const narrow = capital(css.getPropertyValue("--narrow")), text = Math.min(narrow, capital(css.getPropertyValue("--face")));
    root.style.setProperty("--mm", `${mm}px`);
    root.style.setProperty("--u", `${(mm * d) / 2}px`);
    root.style.setProperty("--text", `${Math.max(16, (6.5 * d * mm) / text)}px`);
    root.style.setProperty("--least", `${Math.max(16, (5 * d * mm) / narrow)}px`);
    root.style.setProperty("--small", `${Math.max(16, (6.5 * d * mm) / text)}px`);
    root.style.setProperty("--figure", `${Math.max(32, (17.5 * d * mm) / narrow)}px`);
    if (stored("light", "")) root.dataset.light = stored("light", ""); else delete root.dataset.light;
    fit();
  }
  // the sentence grows while there is room; the talk and the age of a reading shrink to 10 mm (17 minutes of arc) where there is none, never less
  function fit() {
    const set = (name, value) => document.documentElement.style.setProperty(name, value);
    const text = parseFloat(document.documentElement.style.getPropertyValue("--text")), main = document.querySelector("main");
    const hands = $("hands"), under = hands.offsetWidth > hands.offsetHeight;
    set("--lost", `${$("lost").offsetHeight}px`);
    set("--hands", under ? `${hands.offsetHeight}px` : "0px");
    // orders said earlier in a danger may scroll: the one that counts now is as large as it goes
    const over = () => main.offsetHeight - $("before").offsetHeight - parseFloat(getComputedStyle(main).minHeight) - 1 + (main.scrollWidth > main.clientWidth ? 1e4 : 0);
    const use = ([grow, small, face], where) => {
      set("--sentence", `var(${face || "--face"})`);
      set("--grow", grow);
      set("--small", `${Math.max(16, text * small)}px`);
      document.body.dataset.clocks = where;
    };
    const sizes = [[2, 1], [1.7, 1], [1.45, 1], [1.2, 1], [1.2, 0.77], [1, 0.77], [1, 0.77, "--narrow"]];
    for (const size of sizes) {
      for (const where of ["side", "below"]) {
        use(size, where);
        if (over() <= 0) return;
      }
    }
    const below = over();
    use(sizes.at(-1), "side");
    if (over() > below) use(sizes.at(-1), "below");
  }

  // --- time

  const kitchen = () => performance.now() / 1000 + offset;
  const setTime = (t) => { offset = t - performance.now() / 1000; beat = performance.now(); };
  const left = (s) => {
    if (s <= 0) return s > -10 ? ["now", ""] : [clock(-s), "late"];
    if (s >= 36000) return [`${Math.round(s / 3600)}`, "h"];
    if (s >= 5970) return [`${Math.floor(s / 3600)} h ${String(Math.floor((s % 3600) / 60)).padStart(2, "0")}`, ""];
    return s > 599 ? [`${Math.ceil(s / 60)}`, "min"] : [clock(Math.ceil(s)), ""];
  };
  const clock = (s) => s >= 3600 ? `${Math.floor(s / 60)}` : `${Math.floor(s / 60)}:${String(Math.floor(s % 60)).padStart(2, "0")}`;
  const ago = (s) => s < 5 ? "just now" : s < 50 ? `${Math.max(0, Math.round(s / 10) * 10)} s ago` : `${Math.max(1, Math.round(s / 60))} min ago`;
  const dayTime = (t) => {
    const m = Math.round((((view.day_s + t) % 86400) + 86400) % 86400 / 60) % 1440;
    return `${Math.floor(m / 60)}:${String(m % 60).padStart(2, "0")}`;
  };

  // --- drawing; every word goes in as text

  function put(id, words) { const el = typeof id === "string" ? $(id) : id; if (el.textContent !== words) el.textContent = words; }
  function make(tag, className, words) { const el = document.createElement(tag); if (className) el.className = className; if (words !== undefined) el.textContent = words; return el; }
  function figure(el, [number, unit]) {
    const key = `${number} ${unit}`;
    if (el.dataset.key === key) return;
    el.dataset.key = key;
    el.replaceChildren(number, ...(unit ? [make("small", "", unit)] : []));
  }

  const clocks = () => view.clocks.filter((c) => view.takeover || !view.next || c.id !== view.next.clock);

  function draw() {
    if (!view) return;
    const body = document.body;
    body.dataset.level = view.level;
    if (view.takeover) body.dataset.takeover = ""; else delete body.dataset.takeover;
    put("sign-word", (WORDS[view.level] || "") + (view.more ? `, and ${view.more} more` : ""));
    put("words", view.words);
    $("before").replaceChildren(...view.before.slice(-5).map((words) => make("li", "", words)));
    drawPots();
    $("next").hidden = !view.next;
    if (view.next) put("next-words", view.next.words);
    $("clocks").replaceChildren(...clocks().map((c) => { const li = make("li"); li.append(`${c.name} `, make("b")); return li; }));
    put("ear-word", view.listening ? "Listening" : touch ? "Type or touch" : "");
    $("ear").hidden = view.helper;
    $("ear-word").className = view.heard && view.listening ? "heard-only" : "";
    if (view.listening) $("ear").dataset.on = ""; else delete $("ear").dataset.on;
    put("heard", view.heard);
    put("said", view.said === view.words ? "" : view.said);
    put("meal", `${view.title}. We eat at ${dayTime(view.eat_t)}.`);
    drawButtons();
    tick();
    announce();
    fit();
  }
  function drawPots() {
    const shown = view.pots.map((pot) => {
      const box = make("section", "pot"), age = make("span", "age"), brew = make("p", "brew figure"), words = make("p");
      box.dataset.verdict = pot.verdict;
      box.setAttribute("aria-label", pot.name);
      if (pot.as_of_t !== null) age.dataset.t = pot.as_of_t;
      const known = pot.figure !== "";
      figure(brew, [known ? pot.figure : "?", ""]);
      if (pot.estimate) brew.prepend(make("small", "about", "≈"));
      if (pot.verdict !== "frying") words.append(make("span", "verdict", pot.words), make("span", "gap", " "));
      words.append(age);
      age.dataset.read = pot.verdict === "frying" ? "read " : "";
      box.append(make("p", "", pot.wants ? `wants ${pot.wants}` : "oil"), brew, words);
      return box;
    });
    $("pots").replaceChildren(...shown);
  }
  function drawButtons() {
    const wanted = touch ? view.buttons : [], nav = $("hands");
    if (nav.dataset.key === JSON.stringify(wanted)) return;
    nav.dataset.key = JSON.stringify(wanted);
    nav.replaceChildren(...wanted.map(({ label, words }) => {
      const b = make("button", "", label);
      b.type = "button";
      b.dataset.words = words;
      b.addEventListener("click", () => say(words));
      return b;
    }));
  }
  function tick() {
    if (!view) return;
    const t = kitchen();
    if (view.next) {
      const s = view.next.at_t - t;
      figure($("next-left"), s < 0.5 ? ["now", ""] : left(s));
      if (s < 0.5) $("next").dataset.now = ""; else delete $("next").dataset.now;
    }
    document.querySelectorAll("#clocks b").forEach((b, i) => { const c = clocks()[i]; if (c) put(b, left(c.ends_t - t).join(" ").trim()); });
    document.querySelectorAll(".age").forEach((el) => put(el, el.dataset.t ? el.dataset.read + ago(t - Number(el.dataset.t)) : ""));
    if (!lost && performance.now() - beat > LOST_MS) loseIt();
  }

  // --- for those who listen: changes politely, alarms at once

  let announced = "";
  function announce() {
    const oil = view.pots.filter((p) => p.verdict !== "off").map((p) => `Oil ${p.figure}, wants ${p.wants}, ${p.words}.`).join(" ");
    const words = view.takeover ? view.words : `${view.words} ${oil}`;
    if (words === announced) return;
    announced = words;
    put("at-once", view.takeover ? words : "");
    put("polite", view.takeover ? "" : words);
  }

  // --- the connection

  function loseIt() {
    lost = true;
    put("lost", "Connection lost. Clocks run on. Trying again.");
    $("lost").hidden = false;
    fit();
    connect();
  }
  function found() { if (lost) { lost = false; $("lost").hidden = true; fit(); } }
  let again = 0;
  function connect() {
    clearTimeout(again);
    if (source) source.close();
    const query = new URLSearchParams();
    if (asked.get("for")) query.set("for", asked.get("for"));
    if (after) query.set("after", after);
    source = new EventSource(`/events?${query}`);
    const on = (kind, act) => source.addEventListener(kind, (event) => { act(JSON.parse(event.data), event); });
    on("hello", (hello) => { touch = hello.touch; setTime(hello.t); $("pair").hidden = touch; $("type").hidden = !touch; clearTimeout(again); found(); });
    on("beat", (t) => { setTime(t); found(); tick(); });
    on("view", (v) => { view = v; draw(); });
    on("lines", (lines, event) => { after = event.lastEventId; addLines(lines); });
    source.onerror = () => { source.close(); if (!lost) loseIt(); else again = setTimeout(connect, AGAIN_MS); };
    if (lost) again = setTimeout(connect, 3 * AGAIN_MS);
  }
  function addLines(lines) {
    for (const line of lines) {
      const li = make("li", line.way);
      li.append(make("time", "", view ? dayTime(line.t) : ""), line.way === "heard" ? `“${line.words}”` : line.words);
      $("lines").prepend(li);
    }
    while ($("lines").children.length > 400) $("lines").lastChild.remove();
  }

  // --- from the cook

  async function post(path, body) {
    try {
      const answer = await fetch(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
      const { error } = await answer.json();
      return error || "";
    } catch { return "no connection"; }
  }
  async function say(words) {
    const error = await post("/say", { words });
    put("answer", error ? `Not sent: ${error}.` : "");
    return !error;
  }
  async function pair(code) {
    const error = await post("/pair", { code });
    put("answer", error === "wrong" ? "Wrong code." : error === "wait" ? "Too many tries. Wait a minute; the code has changed." : error ? `Not paired: ${error}.` : "Paired.");
    if (!error) { after = ""; $("lines").replaceChildren(); connect(); }
  }
  $("type").addEventListener("submit", async (event) => {
    event.preventDefault();
    const words = $("line").value.trim();
    if (words && await say(words)) $("line").value = "";
  });
  $("pair").addEventListener("submit", (event) => { event.preventDefault(); pair($("code").value.trim()); });
  document.addEventListener("keydown", (event) => {
    if (event.key.length === 1 && event.key !== " " && !event.ctrlKey && !event.metaKey && !event.altKey && touch && !/^(INPUT|SELECT|TEXTAREA)$/.test(event.target.tagName)) $("line").focus();
  });
  for (const id of ["distance", "inches"]) {
    $(id).value = String(setting[id]());
    $(id).addEventListener("change", () => { asked.delete(id); store(id, $(id).value); size(); });
  }
  $("light").value = stored("light", "");
  $("light").addEventListener("change", () => { store("light", $("light").value); size(); });

  addEventListener("resize", size);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) tick(); });
  const code = /^#(\d{6})$/.exec(location.hash);
  if (code) { history.replaceState(null, "", location.pathname + location.search); pair(code[1]); }
  size();
  connect();
  setInterval(tick, 250);
})();
