// The page of one zone in hand at its valve: takes what it draws as it comes, counts how old that is, and makes a tone of
// it that rises as the draw comes near normal. What is stale is never shown, or heard, as live.
(() => {
  "use strict";
  const kPatienceMs = 3500;  // without a word, and the line is lost: one comes each second
  const kPollMs = 1000;  // where events cannot be had
  const kLowest = 220, kOctaves = 2, kMostShare = 1.5;  // Hz at nothing; up to normal; and what is above it
  const kLoud = 0.2, kSmooth = 0.08;  // of 1; seconds
  const kBeats = 4;  // beeps of two notes a second when normal is reached
  const place = document.getElementById("now"), state = document.getElementById("live"), told = document.getElementById("told");
  const zone = location.pathname.split("/")[2];
  const fields = {};
  for (const element of document.querySelectorAll("[data-now]:not(#now)")) fields[element.dataset.now] = element;
  const strip = { line: place.querySelector(".strip .mean"), band: place.querySelector(".strip .band") };
  let last = JSON.parse(place.dataset.now), came = clock(), source = null, polling = null, level = null, tone = null, lock = null;

  // A sleeping phone may stop one of its clocks: the one that went further is right.
  function clock() { return { steady: performance.now(), wall: Date.now() }; }
  const since = (t) => Math.max(performance.now() - t.steady, Date.now() - t.wall, 0);
  const put = (name, text) => { if (fields[name] && fields[name].textContent !== text) fields[name].textContent = text; };
  const say = (text) => { if (state.textContent !== text) state.textContent = text; };

  const age = () => last.age_s === null ? Infinity : last.age_s + since(came) / 1000;
  const stale = () => last.amps === null || last.stale || age() > last.fresh_s;

  function ageWords(seconds) {
    if (seconds === Infinity) return "never read";
    if (seconds < 1.5) return "read just now";
    if (seconds < 120) return `read ${Math.round(seconds)} s ago`;
    return seconds < 7200 ? `read ${Math.round(seconds / 60)} min ago` : `read ${Math.round(seconds / 3600)} h ago`;
  }

  function show() {
    const old = stale(), kind = old ? "stale" : last.level;
    place.className = "hand " + kind;
    put("figure", last.words.figure);
    put("amps", last.words.amps);
    put("state", last.amps === null || !old ? last.words.level : "stale, not live");
    put("on", last.words.on);
    put("age", ageWords(age()));
    put("test", last.words.test);
    put("top", last.strip.top);
    place.querySelector(".says use").setAttribute("href", "#i-" + (old ? "silent" : last.words.icon));
    strip.line.setAttribute("d", last.strip.line);
    strip.band.setAttribute("y", last.strip.y);
    strip.band.setAttribute("height", last.strip.high);
    if (level !== null && level !== kind) told.textContent = fields.state.textContent;
    level = kind;
    sound(old);
  }

  function take(now) { last = now; came = clock(); show(); }

  // ---- the tone

  function makeTone() {
    const context = new AudioContext(), gate = context.createGain(), beat = context.createGain();
    const one = context.createOscillator(), fifth = context.createOscillator(), pulse = context.createOscillator(), depth = context.createGain();
    gate.gain.value = 0;
    one.type = "triangle";  // heard on a phone's small loudspeaker
    fifth.type = "triangle";
    beat.gain.value = 0;
    pulse.type = "square";
    pulse.frequency.value = kBeats;
    depth.gain.value = 0;
    one.connect(gate);
    fifth.connect(beat).connect(gate);
    pulse.connect(depth).connect(gate.gain);
    gate.connect(context.destination);
    for (const oscillator of [one, fifth, pulse]) oscillator.start();
    return { context, gate, beat, depth, one, fifth };
  }

  const pitch = (share) => kLowest * 2 ** (kOctaves * Math.min(Math.max(share, 0), kMostShare));

  function sound(old) {
    place.dataset.tone = !tone ? "off" : old || last.share === null ? "silent" : last.level === "normal" ? "reached" : String(Math.round(pitch(last.share)));
    if (!tone) return;
    const now = tone.context.currentTime, to = (parameter, value) => parameter.setTargetAtTime(value, now, kSmooth);
    const silent = place.dataset.tone === "silent", reached = place.dataset.tone === "reached";
    to(tone.gate.gain, silent ? 0 : reached ? kLoud / 2 : kLoud);
    to(tone.depth.gain, reached && !silent ? kLoud / 2 : 0);
    to(tone.beat.gain, reached ? 1 : 0);
    if (silent) return;
    const hertz = pitch(reached ? 1 : last.share);
    to(tone.one.frequency, hertz);
    to(tone.fifth.frequency, 1.5 * hertz);
  }

  // A screen that goes dark ends the looking and the listening. Not every browser can keep it on, and none does so over a
  // plain line from afar; a page that is hidden loses it.
  async function stayAwake() {
    if (document.hidden || !navigator.wakeLock || (lock && !lock.released)) return;
    lock = await navigator.wakeLock.request("screen").catch(() => null);
  }

  function press() {
    if (tone) { tone.context.close(); tone = null; }
    else { tone = makeTone(); tone.context.resume(); stayAwake(); }
    button.setAttribute("aria-pressed", String(Boolean(tone)));
    button.textContent = tone ? "Stop the tone" : "Start the tone";
    show();
  }

  // ---- what comes

  async function poll() {
    try {
      const answer = await fetch(`/api/v1/zones/${zone}/now`);
      if (!answer.ok) throw new Error(answer.status);
      take(await answer.json());
      say("Live");
    } catch { say("No connection; trying again"); }
  }

  function listen() {
    if (source || polling) return;
    if (!window.EventSource) return void (polling = setInterval(poll, kPollMs));
    source = new EventSource("/events?zone=" + zone);
    source.addEventListener("now", (event) => { say("Live"); take(JSON.parse(event.data)); });
    source.addEventListener("error", () => {
      if (!source || source.readyState !== EventSource.CLOSED) return;
      source = null;
      polling ??= setInterval(poll, kPollMs);
    });
  }

  // A page that nobody looks at or listens to takes no events.
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) { stayAwake(); return listen(); }
    if (tone) return;
    source?.close();
    source = null;
  });

  setInterval(() => {
    if (source && since(came) > kPatienceMs) say("No connection; trying again");
    show();
  }, 250);

  const button = document.getElementById("tone");
  button.disabled = !window.AudioContext;
  button.addEventListener("click", press);
  stayAwake();
  listen();
})();
