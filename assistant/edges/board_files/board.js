"use strict";
const STALE_MS = 12000;
let view = null, got = 0, came = performance.now(), stream = null;
const by = (id) => document.getElementById(id);
function put(tag, text, parent) {
  const node = document.createElement(tag);
  node.textContent = text;
  parent.append(node);
  return node;
}
function clock(seconds) {
  const whole = Math.max(0, Math.floor(Math.abs(seconds)));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}
function due(at, now) { return at >= now ? `in ${clock(at - now)}` : `${clock(now - at)} ago`; }
function shape(svg, tag, values) {
  const node = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [key, value] of Object.entries(values)) node.setAttribute(key, value);
  svg.append(node);
}
function bar(zone, now, parent) {
  const row = put("div", "", parent);
  row.className = "zone";
  if (zone.on_at === null) { put("span", `${zone.name}: ${zone.state}`, row); return; }
  put("span", `${zone.name}: ${zone.state}, check ${due(zone.check_at, now)}, ` +
    `target ${due(zone.target_at, now)}, LIMIT ${due(zone.limit_at, now)}`, row);
  if (zone.state === "off") return;
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  svg.setAttribute("viewBox", "0 0 1000 40");
  svg.setAttribute("preserveAspectRatio", "none");
  svg.setAttribute("aria-hidden", "true");
  const x = (at) => 990 * Math.min(1, Math.max(0, (at - zone.on_at) / (zone.limit_at - zone.on_at)));
  shape(svg, "rect", {x: 0, y: 8, width: x(now), height: 24, class: "done"});
  shape(svg, "rect", {x: 0, y: 8, width: 990, height: 24, class: "rail"});
  for (const at of [zone.check_at, zone.target_at]) shape(svg, "line", {x1: x(at), x2: x(at), y1: 2, y2: 38, class: "mark"});
  shape(svg, "line", {x1: 990, x2: 990, y1: 0, y2: 40, class: "limit"});
  row.append(svg);
}
function press(chair, intent) {
  fetch("/touch", {method: "POST", headers: {"Content-Type": "application/json"},
    body: JSON.stringify({chair, intent})}).catch(() => undefined);
}
function head(one, now) {
  const box = put("section", "", by("heads"));
  put("h2", `Chair ${one.chair}: ${one.recipe}`, box);
  put("p", `${one.state} ${one.step}`, box);
  for (const zone of one.zones) bar(zone, now, box);
  if (!view.operator) return;
  for (const intent of ["heard", "rinsing"]) {
    const button = put("button", intent, box);
    button.type = "button";
    button.addEventListener("pointerdown", () => press(one.chair, intent));
  }
}
function draw() {
  by("stale").hidden = performance.now() - came < STALE_MS;
  if (view === null) return;
  const now = view.at + view.speed * (performance.now() - got) / 1000;
  const first = view.due[0];
  by("next").textContent = first
    ? `${first.up ? "NOW" : "Next"}: ${first.chair === null ? "room" : `chair ${first.chair}`}, ` +
      `${first.kind} ${first.subject}, ${due(first.at, now)}` : "Nothing is due.";
  by("talk").textContent = `Heard: ${view.heard || "-"}. Said: ${view.said || "-"}. ` +
    (view.lost.length ? `LOST: ${view.lost.join(", ")}` : "Microphone and sound are there.");
}
function show(event) {
  view = JSON.parse(event.data);
  got = came = performance.now();
  by("pair").hidden = true;
  by("heads").replaceChildren();
  for (const one of view.heads) head(one, view.at);
  draw();
}
function connect() {
  if (stream !== null) stream.close();
  stream = new EventSource("/events");
  stream.addEventListener("message", show);
  stream.addEventListener("alive", () => { came = performance.now(); });
  stream.addEventListener("error", () => {
    if (stream.readyState !== EventSource.CLOSED) return;
    by("pair").hidden = false;
    setTimeout(connect, 3000);
  });
}
by("pair").addEventListener("submit", (event) => {
  event.preventDefault();
  fetch("/pair", {method: "POST", headers: {"Content-Type": "application/json"},
    body: JSON.stringify({code: by("code").value})}).then(connect, () => undefined);
});
setInterval(draw, 1000);
connect();
