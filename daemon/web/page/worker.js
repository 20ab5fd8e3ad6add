// Shows what coilward tells this phone, and opens its page when it is pressed. Runs without a page.
"use strict";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

function wordsOf(data) {
  try {
    return data.json();
  } catch {
    return {title: "coilward", body: data ? data.text() : ""};
  }
}

// A path of this site, whatever came.
const pathOf = (url) => (typeof url === "string" && url.startsWith("/") && !url.startsWith("//") ? url : "/");

async function show(words) {
  const tag = words.tag || words.id || "coilward";
  const shown = await self.registration.getNotifications({tag});
  // The same alert may come twice; it is said once.
  const again = shown.some((one) => one.data?.id === words.id);
  await self.registration.showNotification(words.title || "coilward", {
    body: words.body || "", tag, renotify: !again, requireInteraction: words.severity === "urgent",
    icon: "/assets/icon.svg", data: {id: words.id, path: pathOf(words.url)},
  });
}

async function open(path) {
  const windows = await self.clients.matchAll({type: "window", includeUncontrolled: true});
  for (const one of windows) {
    try {
      const there = await one.navigate(path);
      return await (there ?? one).focus().catch(() => there);
    } catch { /* not ours to steer: the next one, or a new one */ }
  }
  return self.clients.openWindow(path);
}

self.addEventListener("push", (event) => event.waitUntil(show(wordsOf(event.data))));
self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(open(pathOf(event.notification.data?.path)));
});
