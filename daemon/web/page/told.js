// "Tell this phone": asks the browser for a push subscription and hands it to the site. Says what stands in the way.
(() => {
  "use strict";
  const kInsecure = "This page came over plain http. A browser lets a page notify only over TLS (https), or as localhost on the machine itself.";
  const kHomeScreen = "Put this page on the home screen first (Share, Add to Home Screen), and open it from there.";
  const kCannot = "This browser cannot be notified by a page.";
  const kBlocked = "Notifications of this page are blocked: allow them in the browser's settings for this page, then press again.";

  function obstacle() {
    if (!window.isSecureContext) return kInsecure;
    const able = "serviceWorker" in navigator && "PushManager" in window && "Notification" in window;
    if (!able) return /iPhone|iPad/.test(navigator.userAgent) ? kHomeScreen : kCannot;
    return Notification.permission === "denied" ? kBlocked : "";
  }

  const say = (form, text) => { form.querySelector("[data-state]").textContent = text; };
  const bytes = (text) => Uint8Array.from(atob(text.replace(/-/g, "+").replace(/_/g, "/")), (c) => c.charCodeAt(0));
  const sameKey = (buffer, key) => buffer && key.every((byte, i) => byte === new Uint8Array(buffer)[i]);

  async function subscription(key) {
    const registration = await navigator.serviceWorker.register("/worker.js", {scope: "/", updateViaCache: "none"});
    await navigator.serviceWorker.ready;
    const old = await registration.pushManager.getSubscription();
    if (old && sameKey(old.options.applicationServerKey, key)) return old;
    if (old) await old.unsubscribe();
    return registration.pushManager.subscribe({userVisibleOnly: true, applicationServerKey: key});
  }

  async function tell(form) {
    if (obstacle()) return say(form, obstacle());
    say(form, "Asking the browser …");
    if ((await Notification.requestPermission()) !== "granted") return say(form, kBlocked);
    const {endpoint, keys} = (await subscription(bytes(form.dataset.key))).toJSON();
    const fields = new URLSearchParams(new FormData(form));
    for (const [name, value] of Object.entries({endpoint, p256dh: keys.p256dh, auth: keys.auth})) fields.set(name, value);
    const answer = await fetch(form.action, {method: "POST", body: fields});
    if (answer.ok) return location.assign(answer.url);
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    say(form, `Not done: ${page.querySelector("main p")?.textContent ?? answer.status}`);
  }

  // Which of the phones is this one.
  async function mark() {
    const registration = await navigator.serviceWorker?.getRegistration("/");
    const own = await registration?.pushManager?.getSubscription();
    if (!own) return;
    const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", new TextEncoder().encode(own.endpoint)));
    const id = [...hash.slice(0, 8)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    for (const item of document.querySelectorAll(`[data-phone="${id}"] [data-this]`)) item.hidden = false;
  }

  function prepare() {
    for (const form of document.querySelectorAll("form[data-tell]")) {
      form.querySelector("button").hidden = false;
      say(form, obstacle() || "The browser will ask whether this page may notify you.");
    }
    mark().catch(() => {});
  }

  document.addEventListener("submit", (event) => {
    if (!event.target.matches("form[data-tell]")) return;
    event.preventDefault();
    tell(event.target).catch((error) => say(event.target, `The browser did not do it: ${error.message}`));
  });
  document.addEventListener("coilward-page", prepare);
  prepare();
})();
