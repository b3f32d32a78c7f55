// Draws what is shown. Nodes are made once and kept: a finger on a button never loses it, and a
// reader's voice is not told the same thing again.

export function set(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

export function make(parent, tag, name = "", text = "") {
  const node = document.createElement(tag);
  if (name) node.className = name;
  node.textContent = text;
  parent.append(node);
  return node;
}

export function clock(seconds) {
  const whole = Math.floor(Math.abs(seconds));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

export function inWords(at, now) {
  return at >= now ? `in ${clock(at - now)}` : `${clock(now - at)} ago`;
}

// the minutes large, "in" or "since" small above them
export function big(node, at, now) {
  if (node.children.length !== 2) {
    node.replaceChildren(document.createElement("small"), document.createElement("span"));
  }
  set(node.children[0], at >= now ? "in " : "since ");
  set(node.children[1], clock(at - now));
}

const KINDS = {1: ["limit", "■"], 2: ["due", "▲"], 3: ["check", "●"]};
export function dress(node, due) {
  const [name, sign] = due && due.up ? KINDS[due.priority] || KINDS[3] : ["", ""];
  for (const other of ["limit", "due", "check"]) node.classList.toggle(other, other === name);
  return sign;
}

const MARKS = {check: "●", target: "▲", limit: "■"};
const BEYOND = 1.12; // a bar goes on a little past its limit

function makeZone(parent, name) {
  const box = make(parent, "div", "zone");
  box.dataset.zone = name;
  const line = make(box, "p");
  make(line, "span", "name", name);
  for (const mark of Object.keys(MARKS)) make(line, "span", `to-${mark}`);
  const bar = make(box, "div", "bar");
  bar.setAttribute("role", "img");
  make(bar, "div", "rail");
  make(bar, "div", "run");
  for (const [mark, sign] of Object.entries(MARKS)) make(bar, "i", `at-${mark}`, sign);
  return box;
}

// What is past is left out, but never a limit; a zone that is ready only waits for its limit.
function drawZone(box, zone, now) {
  const at = {check: zone.check_at, target: zone.target_at, limit: zone.limit_at};
  const left = Object.keys(MARKS).filter(
    (mark) => mark === "limit" || (zone.state === "on" && at[mark] > now));
  const said = left.map((mark) => `${mark} ${inWords(at[mark], now)}`);
  set(box.querySelector(".name"), zone.state === "on" ? zone.name : `${zone.name}, ${zone.state}`);
  for (const [mark, sign] of Object.entries(MARKS)) {
    const node = box.querySelector(`.to-${mark}`), first = mark === left[0];
    node.hidden = !left.includes(mark);
    node.classList.toggle("first", first);
    set(node, `${sign} ${first || now >= at[mark] ? `${mark} ` : ""}${inWords(at[mark], now)}`);
  }
  const bar = box.querySelector(".bar");
  bar.classList.toggle("late", now >= zone.limit_at && zone.state !== "rinsing");
  bar.setAttribute("aria-label", `${zone.name}: on for ${clock(now - zone.on_at)}, ${said.join(", ")}`);
  const scale = 100 / (BEYOND * Math.max(1, zone.limit_at - zone.on_at));
  const place = (moment) => `${Math.min(100, Math.max(0, (moment - zone.on_at) * scale)).toFixed(2)}%`;
  bar.querySelector(".run").style.width = place(now);
  for (const mark of Object.keys(MARKS)) bar.querySelector(`.at-${mark}`).style.left = place(at[mark]);
}

export function drawZones(parent, zones, now) {
  const running = zones.filter((zone) => zone.on_at !== null && zone.state !== "off");
  const known = new Map([...parent.children].map((box) => [box.dataset.zone, box]));
  for (const zone of running) {
    drawZone(known.get(zone.name) || makeZone(parent, zone.name), zone, now);
    known.delete(zone.name);
  }
  for (const box of known.values()) box.remove();
  const rest = new Map();
  for (const zone of zones) {
    if (!running.includes(zone)) rest.set(zone.state, [...(rest.get(zone.state) || []), zone.name]);
  }
  return [...rest].map(([state, names]) => `${state}: ${names.join(", ")}`).join("; ");
}

export function windowWords(head, now) {
  const {window_opens: opens, window_closes: closes} = head;
  if (opens === null) return "";
  if (opens > closes) return "No single rinse serves all zones.";
  if (now > closes) return `Rinse window closed ${inWords(closes, now)}.`;
  const open = now < opens ? `opens ${inWords(opens, now)}` : "is open";
  return `Rinse window ${open}, closes ${inWords(closes, now)}.`;
}
