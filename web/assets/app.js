// What pages gain from a script: an outbox that keeps entries without signal and sends each exactly once,
// the number pad, the question at an impossible value, charts that move, and the scanner of labels.
"use strict";
const $ = (sel, from = document) => from.querySelector(sel);
const $$ = (sel, from = document) => [...from.querySelectorAll(sel)];
const make = (tag, props = {}, ...kids) => { const e = Object.assign(document.createElement(tag), props); e.append(...kids); return e; };

/* ---- the outbox: one object store, one entry per form sent ---- */
const box = new Promise((give, fail) => {
  const open = indexedDB.open("dustwright", 1);
  open.onupgradeneeded = () => open.result.createObjectStore("outbox", { keyPath: "seq", autoIncrement: true });
  open.onsuccess = () => give(open.result);
  open.onerror = () => fail(open.error);
});
const inBox = async (mode, work) => {
  const db = await box;
  return new Promise((give, fail) => {
    const tx = db.transaction("outbox", mode);
    const req = work(tx.objectStore("outbox"));
    tx.oncomplete = () => give(req && req.result);
    tx.onabort = tx.onerror = () => fail(tx.error);
  });
};
const waitingEntries = () => inBox("readonly", (s) => s.getAll());

function newID() {
  const b = crypto.getRandomValues(new Uint8Array(16));
  return [...b].map((x) => x.toString(16).padStart(2, "0")).join("");
}

function localTime() {
  const t = new Date(), off = -t.getTimezoneOffset(), two = (n) => String(Math.floor(Math.abs(n))).padStart(2, "0");
  const local = new Date(t.getTime() + off * 60000).toISOString().slice(0, 23);
  return local + (off < 0 ? "-" : "+") + two(off / 60) + ":" + two(off % 60);
}

// send gives one entry to the server. It is safe to send again what was sent before: the ID goes with it.
async function send(entry) {
  const body = new FormData();
  for (const [name, value, file] of entry.fields) file ? body.append(name, value, file) : body.append(name, value);
  const answer = await fetch(entry.url, { method: "POST", body, headers: { Accept: "application/json" } });
  const told = await answer.json();
  return { status: answer.status, told };
}

let draining = null;
const results = new Map();
function drain() {
  draining ||= (navigator.locks ? navigator.locks.request("outbox", drainOnce) : drainOnce()).catch(() => {}).finally(() => { draining = null; });
  return draining;
}
async function drainOnce() {
  for (const entry of await waitingEntries()) {
    if (entry.refused) continue;
    let got;
    try { got = await send(entry); } catch { break; } // no signal: later
    if (got.status >= 500 || got.status === 429) break;
    if (got.status >= 400) {
      entry.refused = got.told.error || "It was refused.";
      await inBox("readwrite", (s) => s.put(entry));
    } else {
      await inBox("readwrite", (s) => s.delete(entry.seq));
    }
    results.set(entry.id, got);
  }
  await showWaiting();
}

async function showWaiting() {
  const all = await waitingEntries(), p = $("#waiting");
  if (!p) return;
  const open = all.filter((e) => !e.refused), bad = all.filter((e) => e.refused);
  p.replaceChildren();
  if (open.length) p.append(open.length === 1 ? "1 entry waits on this phone for signal: " : open.length + " entries wait on this phone for signal: ", open.map((e) => e.what).join(", ") + ". ");
  for (const e of bad) {
    const drop = make("button", { type: "button", className: "second", textContent: "Discard it", onclick: async () => { await inBox("readwrite", (s) => s.delete(e.seq)); showWaiting(); } });
    p.append(make("span", { textContent: `Not taken, ${e.what}: ${e.refused} ` }), drop);
  }
  p.hidden = !all.length;
}

// enqueue keeps a form in the outbox. What is in the outbox survives the page's end.
async function enqueue(form, submitter) {
  const data = new FormData(form, submitter), id = newID(), fields = [];
  data.set("id", id);
  data.set("at", localTime());
  for (const [name, value] of data) {
    if (value instanceof File) { if (value.size) { const small = form.matches("[data-wav]") ? await asWAV(value) : await smaller(value); fields.push([name, small, small.name || value.name]); } }
    else fields.push([name, value]);
  }
  if (data.get("by")) localStorage.by = data.get("by");
  await inBox("readwrite", (s) => s.add({ id, url: form.action, what: form.dataset.outbox, at: Date.now(), fields }));
  return id;
}

// smaller makes a photo of a phone small enough for a weak signal.
async function smaller(file) {
  if (!file.type.startsWith("image/") || file.size < 400000 || !window.createImageBitmap) return file;
  try {
    const pic = await createImageBitmap(file), k = Math.min(1, 1600 / Math.max(pic.width, pic.height));
    const c = make("canvas", { width: pic.width * k, height: pic.height * k });
    c.getContext("2d").drawImage(pic, 0, 0, c.width, c.height);
    return await new Promise((give) => c.toBlob((b) => give(b && b.size < file.size ? b : file), "image/jpeg", 0.85));
  } catch { return file; }
}

async function submitted(e) {
  const form = e.target.closest("form[data-outbox]");
  if (!form || e.defaultPrevented || e.submitter?.formMethod === "get") return; // asks, and enters nothing
  e.preventDefault();
  if (form.dataset.sending || !(await sure(form))) return;
  form.dataset.sending = "1";
  const id = await enqueue(form, e.submitter);
  await showWaiting();
  await Promise.race([drain(), new Promise((r) => setTimeout(r, 8000))]);
  const got = results.get(id);
  delete form.dataset.sending;
  if (got && got.status < 400) { location.href = got.told.next; return; }
  if (got) { ask(form, got.told.error); return; }
  kept(form);
}

// kept tells that an entry waits, and where to go on.
function kept(form) {
  const next = form.dataset.next || ($("[name=first]", form) || {}).value;
  const p = make("section", { className: "sheet kept", tabIndex: -1 }, make("p", { className: "lead", textContent: "Kept on this phone. It is sent by itself, once, when there is signal; the judgement comes then." }));
  const go = make("div", { className: "go" }, make("a", { href: next || "/round", textContent: form.dataset.nextTag ? "Next stop: " + form.dataset.nextTag : next ? "Go on" : "All stops" }));
  form.replaceWith(p, go);
  p.focus();
}

/* ---- an impossible value is questioned, never refused ---- */
function ask(form, text) {
  let q = $(".question", form);
  if (!q) { q = make("div", { className: "question" }); q.setAttribute("role", "alert"); form.prepend(q); }
  q.textContent = text;
  q.scrollIntoView({ block: "center" });
}
async function sure(form) {
  const odd = $$("input[data-ask]", form).filter((i) => {
    const v = parseFloat(i.value.replace(",", "."));
    return Number.isFinite(v) && !/[a-z]/i.test(i.value) && (v < +i.dataset.low || v > +i.dataset.high);
  });
  const said = odd.map((i) => i.name + i.value).join();
  if (!odd.length || form.dataset.said === said) {
    if (odd.length) form.append(make("input", { type: "hidden", name: "sure", value: "yes" }));
    return true;
  }
  form.dataset.said = said;
  const unit = (i) => ($(`[name="unit.${i.name}"]`, form) || {}).value || "";
  ask(form, odd.map((i) => `${i.dataset.label}: ${i.value} ${unit(i)}. ${i.dataset.ask}`).join(" ") + " If it truly reads that, save again.");
  return false;
}

/* ---- number pad ---- */
function pad() {
  const p = $("#pad"), into = $("[data-pad]");
  if (!p || !into) return;
  const step = +into.dataset.step || 0.05, places = step < 1 ? 2 : 0;
  const set = (v) => { into.value = v; into.dispatchEvent(new Event("input", { bubbles: true })); };
  const nudge = (d) => set((Math.round(((parseFloat(into.value) || 0) + d) / step) * step).toFixed(places));
  const key = (label, act, name) => { const b = make("button", { type: "button", textContent: label, onclick: act }); if (name) b.setAttribute("aria-label", name); p.append(b); };
  const type = (c) => () => set(c === "." && into.value.includes(".") ? into.value : into.value + c);
  for (const row of ["789", "456", "123"]) {
    for (const c of row) key(c, type(c));
    if (row === "789") key("⌫", () => set(into.value.slice(0, -1)), "Take the last digit back");
    if (row === "456") key("+" + step, () => nudge(step), "Up by " + step);
    if (row === "123") key("−" + step, () => nudge(-step), "Down by " + step);
  }
  key("−", () => set(into.value.startsWith("-") ? into.value.slice(1) : "-" + into.value), "Change the sign");
  key("0", type("0"));
  key(".", type("."), "Decimal point");
  key("C", () => set(""), "Clear");
  into.inputMode = "none";
  p.hidden = false;
}

/* ---- charts: drag, pinch, wheel, keys; the server draws the new stretch ---- */
function chart(fig) {
  const draw = $(".draw", fig), tools = $(".tools", fig), d = fig.dataset, link = $(".astable", fig);
  let from = +d.from, to = +d.to, timer, shown = [from, to], serial = 0;
  const first = +d.first, last = +d.last, home = [from, to];
  const clamp = () => {
    let span = Math.min(Math.max(to - from, 1800), (last - first) * 1.1 + 86400);
    const mid = Math.min(Math.max((from + to) / 2, first), last);
    from = mid - span / 2; to = mid + span / 2;
  };
  const fetchNow = async () => {
    const mine = ++serial, f = Math.round(from), t = Math.round(to);
    try {
      const got = await fetch(`${d.src}&from=${f}&to=${t}&w=${Math.round(draw.clientWidth)}`);
      if (!got.ok || mine !== serial) return;
      draw.innerHTML = await got.text();
      shown = [f, t];
      d.from = f; d.to = t;
      link.href = link.href.replace(/from=.*/, `from=${f}&to=${t}`);
    } catch { /* without signal the old drawing stays */ }
  };
  const moved = () => {
    clamp();
    const svg = $("svg.plot", draw), span = shown[1] - shown[0], k = span / (to - from);
    if (svg) { svg.style.transformOrigin = "0 0"; svg.style.transform = `translateX(${((shown[0] - from) / (to - from)) * draw.clientWidth}px) scaleX(${k})`; }
    clearTimeout(timer);
    timer = setTimeout(fetchNow, 140);
  };
  const zoom = (k, at = 0.5) => { const c = from + (to - from) * at; from = c - (c - from) * k; to = c + (to - c) * k; moved(); };
  const pan = (share) => { const s = (to - from) * share; from += s; to += s; moved(); };
  const button = (text, name, act) => { const b = make("button", { type: "button", className: "second", textContent: text, onclick: act }); b.setAttribute("aria-label", name); tools.append(b); };
  button("+", "Zoom in", () => zoom(0.5));
  button("−", "Zoom out", () => zoom(2));
  button("All", "All: the whole record", () => { from = first; to = last; moved(); });
  button("⟲", "Back to the first view", () => { [from, to] = home; moved(); });
  draw.addEventListener("keydown", (e) => {
    const act = { ArrowLeft: () => pan(-0.2), ArrowRight: () => pan(0.2), "+": () => zoom(0.6), "=": () => zoom(0.6), "-": () => zoom(1.6) }[e.key];
    if (act) { e.preventDefault(); act(); }
  });
  draw.addEventListener("wheel", (e) => { if (!e.ctrlKey && !e.shiftKey) return; e.preventDefault(); zoom(e.deltaY > 0 ? 1.2 : 0.83, e.offsetX / draw.clientWidth); }, { passive: false });
  const down = new Map();
  draw.addEventListener("pointerdown", (e) => { down.set(e.pointerId, e.clientX); draw.setPointerCapture(e.pointerId); });
  const up = (e) => down.delete(e.pointerId);
  draw.addEventListener("pointerup", up);
  draw.addEventListener("pointercancel", up);
  draw.addEventListener("pointermove", (e) => {
    if (!down.has(e.pointerId)) return;
    const before = [...down.values()], wide = draw.clientWidth;
    down.set(e.pointerId, e.clientX);
    const now = [...down.values()];
    if (now.length === 1) pan((before[0] - now[0]) / wide);
    else if (now.length === 2) {
      const a = Math.abs(before[0] - before[1]) || 1, b = Math.abs(now[0] - now[1]) || 1, left = draw.getBoundingClientRect().left;
      zoom(a / b, ((now[0] + now[1]) / 2 - left) / wide);
    }
  });
  if (Math.abs(draw.clientWidth - 360) > 20) fetchNow();
}

/* ---- recordings: what the server can't decode, the browser does; 16-bit WAV goes up ---- */
async function asWAV(file) {
  if (/\.(csv|txt|wav|flac|mp3|ogg)$/i.test(file.name)) return file;
  try {
    const rate = 44100, buf = await new OfflineAudioContext(1, rate, rate).decodeAudioData(await file.arrayBuffer());
    return new File([wav(mono(buf), buf.sampleRate)], file.name.replace(/\.\w+$/, "") + ".wav", { type: "audio/wav" });
  } catch { return file; } // the server says what it thinks of it
}
function mono(buf) {
  const out = new Float32Array(buf.length);
  for (let c = 0; c < buf.numberOfChannels; c++) buf.getChannelData(c).forEach((v, i) => { out[i] += v / buf.numberOfChannels; });
  return out;
}
function wav(samples, rate) {
  const b = new DataView(new ArrayBuffer(44 + 2 * samples.length)), put = (at, s) => [...s].forEach((c, i) => b.setUint8(at + i, c.charCodeAt(0)));
  put(0, "RIFF"); b.setUint32(4, 36 + 2 * samples.length, true); put(8, "WAVEfmt "); b.setUint32(16, 16, true); b.setUint16(20, 1, true); b.setUint16(22, 1, true);
  b.setUint32(24, rate, true); b.setUint32(28, 2 * rate, true); b.setUint16(32, 2, true); b.setUint16(34, 16, true); put(36, "data"); b.setUint32(40, 2 * samples.length, true);
  samples.forEach((v, i) => b.setInt16(44 + 2 * i, Math.max(-1, Math.min(1, v)) * 32767, true));
  return b.buffer;
}
async function record(button) {
  const say = $("#recording"), seconds = +button.dataset.seconds;
  const stream = await navigator.mediaDevices.getUserMedia({ audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false } });
  const rec = new MediaRecorder(stream), parts = [];
  rec.ondataavailable = (e) => parts.push(e.data);
  rec.onstop = async () => {
    stream.getTracks().forEach((t) => t.stop());
    const file = await asWAV(new File(parts, "recording.webm", { type: rec.mimeType })), dt = new DataTransfer();
    dt.items.add(file);
    $("input[name=recording]").files = dt.files;
    say.textContent = "Recorded. Now find the bad valve.";
    button.disabled = false;
  };
  button.disabled = true;
  rec.start();
  for (let left = seconds; left > 0; left--) { say.textContent = `${left} s left: stand still, don't talk.`; await new Promise((r) => setTimeout(r, 1000)); }
  rec.stop();
}

/* ---- the airflow while a traverse is entered ---- */
function live(form) {
  let timer;
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(async () => {
      const body = new FormData(form);
      body.set("dry", "1");
      try {
        const told = await (await fetch(form.action, { method: "POST", body, headers: { Accept: "application/json" } })).json();
        $("#flow").textContent = told.error ? told.error : told.says + " " + told.flags.join(" ");
      } catch { $("#flow").textContent = "Without signal the airflow can't be worked out; the readings are kept and sent later."; }
    }, 300);
  });
}

/* ---- labels ---- */
async function scan() {
  const video = $("#camera");
  const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
  const look = new BarcodeDetector({ formats: ["qr_code"] });
  video.hidden = false;
  video.srcObject = stream;
  await video.play();
  for (let i = 0; i < 600; i++) {
    const codes = await look.detect(video).catch(() => []);
    const tag = codes.map((c) => (c.rawValue.match(/\/c\/([^/?#]+)/) || [])[1] || (/^[\w .-]{1,40}$/.test(c.rawValue) ? encodeURIComponent(c.rawValue) : "")).find(Boolean);
    if (tag) { stream.getTracks().forEach((t) => t.stop()); location.href = `/c/${tag}/round`; return; }
    await new Promise((r) => setTimeout(r, 100));
  }
  stream.getTracks().forEach((t) => t.stop());
  video.hidden = true;
}

/* ---- start ---- */
document.addEventListener("submit", submitted);
window.addEventListener("online", drain);
document.addEventListener("visibilitychange", () => { if (!document.hidden) drain(); });
setInterval(async () => { if ((await waitingEntries()).some((e) => !e.refused)) drain(); }, 15000);
for (const by of $$("input[name=by]")) if (!by.value && localStorage.by) by.value = localStorage.by;
pad();
$$("figure.chart[data-src]").forEach(chart);
$$("form[data-live]").forEach(live);
for (const r of $$("input[type=range]")) r.addEventListener("input", () => { $("output", r.parentElement).textContent = r.value; });
if ($("#record") && navigator.mediaDevices && window.MediaRecorder) { $("#record").hidden = false; $("#record").onclick = () => record($("#record")).catch(() => { $("#recording").textContent = "The microphone can't be used; upload a recording instead."; }); }
showWaiting().then(drain);
if ("serviceWorker" in navigator) {
  navigator.serviceWorker.register("/worker.js").then(() => navigator.serviceWorker.ready).then((reg) => {
    const stops = $("#stops");
    if (stops) reg.active.postMessage({ keep: ["/", "/round", ...$$("a", stops).map((a) => a.getAttribute("href"))] });
    navigator.serviceWorker.addEventListener("message", (e) => { if (e.data && e.data.kept) document.documentElement.dataset.kept = e.data.kept; });
  }).catch(() => {});
}
if ($("#scan") && "BarcodeDetector" in window && navigator.mediaDevices) { $("#scan").hidden = false; $("#scan").onclick = () => scan().catch(() => { $("#scan").textContent = "The camera can't be used; pick the stop from the list"; }); }
