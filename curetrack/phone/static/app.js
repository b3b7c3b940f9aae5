"use strict";
/* Live pages, and taps that wait on the phone. Without it every button is a plain form and works as well. */
(() => {
  const STORE = "curetrack.taps", RENEW_MS = 60000, AGAIN_MS = 10000, ANSWER_MS = 8000, SAID_MS = 20000;
  const $ = (id) => document.getElementById(id);
  const token = () => document.querySelector('meta[name="token"]')?.content || "";
  if (!token()) return;
  let memory = [], stored = true, offline = false, busy = false, stale = false, trouble = "", closing = 0;

  /* --- what waits: in the browser's store, or in the page where there is none --- */
  const waiting = () => {
    try { return JSON.parse(localStorage.getItem(STORE) || "[]"); } catch { return memory; }
  };
  const keep = (taps) => {
    memory = taps;
    try { localStorage.setItem(STORE, JSON.stringify(taps)); stored = true; } catch { stored = false; }
  };
  const newId = () => Array.from(crypto.getRandomValues(new Uint8Array(7)), (b) => b.toString(16).padStart(2, "0")).join("");

  /* --- what is said --- */
  const say = (place, text, name) => {
    const p = document.createElement("p");
    p.textContent = text;
    p.className = name;
    place.replaceChildren(...(text ? [p] : []));
  };
  const clock = () => new Date().toTimeString().slice(0, 5);
  let last = "";
  const show = () => {
    const count = waiting().length, parts = [];
    if (trouble) parts.push(trouble);
    if (offline) parts.push(`Not connected to the bench. What you see is as of ${$("asof").textContent}.`);
    if (count) {
      parts.push(`${count} ${count === 1 ? "tap waits" : "taps wait"} on this phone, and ${count === 1 ? "is" : "are"} sent when the bench answers.`);
      if (!stored) parts.push("This browser keeps nothing: leave this page open.");
    }
    const text = parts.join(" ");
    if (text !== last) say($("state"), text, offline || trouble ? "off" : "");
    last = text;
    mark();
  };
  const mark = () => {
    const taps = waiting();
    for (const form of document.querySelectorAll("form.deeds")) {
      const piece = form.elements.piece?.value, step = form.elements.step?.value;
      form.classList.toggle("sent", taps.some((t) => t.step && t.piece === piece && t.step === step));
    }
  };
  const connected = (yes) => { if (offline === yes) { offline = !yes; show(); } };

  /* --- sending --- */
  const ask = (path, more) => {
    const stop = new AbortController(), timer = setTimeout(() => stop.abort(), ANSWER_MS);
    return fetch(path, { credentials: "same-origin", cache: "no-store", signal: stop.signal, ...more })
      .finally(() => clearTimeout(timer));
  };
  const lost = async (answer) => {
    trouble = answer.status === 401 ? "This phone is no longer paired. Pair it again, then load this page: what waits is kept." : "";
    if (answer.status === 403) location.reload();
    show();
  };
  const send = async () => {
    if (busy) return;
    busy = true;
    let sent = false;
    try {
      for (let taps = waiting(); taps.length; taps = waiting()) {
        const tap = taps[0];
        let answer;
        try {
          answer = await ask("/deed", {
            method: "POST", body: JSON.stringify({ ...tap, sent_ms: Date.now() }),
            headers: { "content-type": "application/json", "x-curetrack-token": token() },
          });
        } catch { connected(false); break; }
        connected(true);
        if (answer.status !== 200 && answer.status !== 400) { await lost(answer); break; }
        const said = await answer.json();
        keep(waiting().filter((t) => t.id !== tap.id));
        sent = true;
        told(said);
      }
    } finally { busy = false; }
    show();
    if (sent) await renew(true);
  };
  const told = (said) => {
    say($("said"), said.text, said.good ? "good" : "bad");
    if (said.event) {
      const button = document.createElement("button");
      button.textContent = "Take that back";
      button.className = "mid";
      button.addEventListener("click", () => { button.remove(); tap({ do: "undo", piece: said.piece, event: said.event }); });
      $("said").append(button);
    }
    const close = document.createElement("button");
    close.textContent = "Close";
    close.className = "mid";
    close.addEventListener("click", () => say($("said"), "", ""));
    $("said").append(close);
    clearTimeout(closing);
    if (said.good) closing = setTimeout(() => say($("said"), "", ""), SAID_MS);
  };
  const tap = (deed) => {
    keep([...waiting(), { ...deed, id: newId(), tapped_ms: Date.now() }]);
    show();
    send();
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.getAttribute("action") !== "/deed") return;
    event.preventDefault();
    const fields = new FormData(form), deed = { do: event.submitter?.value || "" };
    for (const name of ["piece", "step", "note", "temp", "humidity", "place"]) {
      const value = (fields.get(name) || "").trim();
      if (value) deed[name] = value;
    }
    for (const name of ["crew", "event", "hours"]) if (fields.get(name)) deed[name] = Number(fields.get(name));
    if (!deed.do) return;
    form.querySelectorAll("details[open]").forEach((d) => { d.open = false; });
    form.querySelectorAll('input:not([type="hidden"]):not([name="crew"])').forEach((i) => { i.value = ""; });
    document.activeElement?.blur();
    if (form.closest("#said")) say($("said"), "", "");
    tap(deed);
  });

  /* --- renewing: the page's own main part, asked for again --- */
  const handsOn = () => {
    const at = document.activeElement;
    return Boolean(at && at !== document.body && at.closest("main") && at.matches("input,select,textarea"));
  };
  const renew = async (now) => {
    if (handsOn() && !now) { stale = true; return; }
    stale = false;
    let text;
    try {
      const answer = await ask(location.href, { headers: { "x-part": "1" } });
      if (!answer.ok) { if (answer.status === 401) await lost(answer); return; }
      text = await answer.text();
    } catch { connected(false); return; }
    connected(true);
    const fresh = new DOMParser().parseFromString(text, "text/html"), main = fresh.querySelector("main");
    if (!main || !fresh.getElementById("asof")) return;
    if (handsOn() && !now) { stale = true; return; }
    const key = (d) => d.closest("form,li,section")?.querySelector('[name="step"]')?.form?.getAttribute("aria-label") + d.className;
    const open = new Set(Array.from(document.querySelectorAll("main details[open]"), key));
    const shut = new Set(Array.from(document.querySelectorAll("main details:not([open])"), key));
    for (const d of main.querySelectorAll("details")) d.open = open.has(key(d)) || (d.open && !shut.has(key(d)));
    document.querySelector("main").replaceWith(main);
    document.querySelector('meta[name="token"]').content = fresh.querySelector('meta[name="token"]').content;
    document.body.dataset.count = fresh.body.dataset.count;
    $("asof").textContent = fresh.getElementById("asof").textContent;
    crew();
    show();
  };
  document.addEventListener("focusout", () => setTimeout(() => { if (stale) renew(false); }, 200));

  /* --- live --- */
  let events = null;
  const listen = () => {
    events?.close();
    events = new EventSource("/events");
    events.addEventListener("hello", (event) => {
      connected(true);
      if (event.data !== document.body.dataset.count) renew(false);
      send();
    });
    events.addEventListener("changed", () => renew(false));
    events.addEventListener("error", () => {
      connected(false);
      if (events.readyState === EventSource.CLOSED) setTimeout(listen, AGAIN_MS);
    });
  };

  /* --- the crew's text: to be shared where the phone can, else copied --- */
  const crew = () => {
    if (!navigator.share) return;
    for (const label of document.querySelectorAll(".share")) {
      if (label.nextElementSibling?.dataset.share) continue;
      const button = document.createElement("button");
      button.type = "button";
      button.dataset.share = "1";
      button.textContent = "Send it to them";
      button.addEventListener("click", () => navigator.share({ text: label.querySelector("textarea").value }).catch(() => {}));
      label.after(button);
    }
  };

  addEventListener("online", () => { send(); listen(); });
  addEventListener("offline", () => connected(false));
  addEventListener("storage", show);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) { renew(false); send(); } });
  setInterval(() => { if (!document.hidden) renew(false); }, RENEW_MS);
  setInterval(() => { if (waiting().length) send(); }, AGAIN_MS);
  addEventListener("load", () => setTimeout(() => {
    listen();
    if (!window.isSecureContext) return;
    const link = document.createElement("link");
    link.rel = "manifest";
    link.href = "/manifest.webmanifest";
    link.crossOrigin = "use-credentials";
    document.head.append(link);
    navigator.serviceWorker?.register("/sw.js").catch(() => {});
  }, 50));
  crew();
  show();
  send();
})();
