// The page: listens to the board's events, draws a look a second, sends presses.
import {big, clock, drawZones, dress, inWords, make, set, windowWords} from "./bars.js";

const STALE_MS = 5000; // the hub makes a beat every second
const SILENT_MS = 10000; // the server says something every four
const SLOP = 40; // a wet knuckle slides: so many pixels beside a button still count
const ANSWER_MS = 30000; // an old answer says nothing about now
const BUTTONS = [["heard", "Heard"], ["rinsing", "Rinsing"]];
const by = (id) => document.getElementById(id);
let frame = null, role = null, stream = null, beat = -1;
let made = NaN, alive = tick();

// While a tablet sleeps one of its clocks may stand still: of two readings take the later.
function tick() { return {wall: Date.now(), run: performance.now()}; }
function since(then) { return Math.max(Date.now() - then.wall, performance.now() - then.run, 0); }

function show(event) {
  alive = tick();
  const news = JSON.parse(event.data);
  if (news.frame === null || (frame !== null && news.frame.beat === beat)) return;
  frame = news.frame;
  beat = frame.beat;
  made = tick();
  made.wall -= news.age * 1000;
  made.run -= news.age * 1000;
  draw();
}

function name(due) {
  const where = due.chair === null || !due.subject ? "" : `${due.subject}: `;
  return where + (due.up ? due.todo : due.words);
}

function drawNext(now) {
  const [first, then] = frame.view.due;
  const what = by("next").querySelector(".what"), time = by("next").querySelector(".time");
  set(by("next").querySelector(".sign"), dress(by("next"), first));
  if (!first) {
    set(what, "Nothing is due.");
    set(by("next").querySelector(".chair"), "");
    time.replaceChildren();
    set(by("then"), "");
    return;
  }
  set(by("next").querySelector(".chair"), first.chair === null ? "" : String(first.chair));
  set(what, name(first));
  big(time, first.at, now);
  const chair = then && then.chair !== null ? `chair ${then.chair}, ` : "";
  set(by("then"), then ? `then ${chair}${name(then)} ${inWords(then.at, now)}` : "");
  const call = first.chair === null ? "" : `Chair ${first.chair}: `;
  set(by("announce"), first.up ? call + name(first) : "");
}

function makeHead(chair) {
  const box = make(by("heads"), "section");
  box.dataset.chair = chair;
  const top = make(box, "div", "top");
  const title = make(top, "h2", "chair", String(chair));
  title.setAttribute("aria-label", `Chair ${chair}`);
  make(top, "span", "sign").setAttribute("aria-hidden", "true");
  make(top, "p", "time");
  make(top, "p", "words");
  make(box, "p", "doing");
  make(box, "div", "zones");
  make(box, "p", "rest");
  const buttons = make(box, "div", "buttons");
  for (const [button, text] of BUTTONS) makeButton(buttons, chair, button, text);
  const after = [...by("heads").children].find((other) => Number(other.dataset.chair) > chair);
  if (after) after.before(box);
  return box;
}

function makeButton(parent, chair, button, text) {
  const node = make(parent, "button", button, text);
  node.type = "button";
  node.setAttribute("aria-label", `${text}, ${chair === 0 ? "the room" : `chair ${chair}`}`);
  const answer = make(node, "small");
  const aloud = make(parent, "output", "unseen"); // for who hears the page
  pressable(node, () => press(chair, button, (words) => {
    set(answer, words);
    set(aloud, words && `${text}: ${words}`);
  }));
}

function drawHead(box, head, now) {
  const first = frame.view.due.find((due) => due.chair === head.chair);
  set(box.querySelector(".sign"), dress(box.querySelector(".top"), first));
  set(box.querySelector(".words"), first ? name(first) : "nothing is due");
  if (first) big(box.querySelector(".top .time"), first.at, now);
  else box.querySelector(".top .time").replaceChildren();
  set(box.querySelector(".doing"), `${head.recipe}; ${head.doing}`);
  const rest = [windowWords(head, now), drawZones(box.querySelector(".zones"), head.zones, now)];
  set(box.querySelector(".rest"), rest.filter(Boolean).join(" "));
  box.querySelector(".buttons").hidden = role !== "operator";
}

function drawHeads(now) {
  const known = new Map([...by("heads").children].map((box) => [Number(box.dataset.chair), box]));
  for (const head of frame.view.heads) {
    drawHead(known.get(head.chair) || makeHead(head.chair), head, now);
    known.delete(head.chair);
  }
  for (const box of known.values()) box.remove();
  by("heads").classList.toggle("crowd", frame.view.heads.length > 4);
}

function drawFoot(now) {
  const {lost, quiet_until: quiet} = frame.view;
  const pause = quiet > now ? `, calls quiet for ${clock(quiet - now)}` : "";
  set(by("sound"), (lost.length ? `✗ LOST: ${lost.join(", ")}` : "✓ microphone ✓ sound") + pause);
  by("sound").classList.toggle("lost", lost.length > 0);
  by("room").hidden = lost.length === 0 || role !== "operator";
  set(by("heard"), frame.heard || "-");
  set(by("said"), frame.said || "-");
}

function drawStale() {
  const old = frame === null ? 0 : since(made);
  const gone = frame !== null && (frame.over || old > STALE_MS);
  by("stale").hidden = !gone;
  document.body.classList.toggle("gone", gone);
  if (!gone) return;
  const why = since(alive) > STALE_MS ? "no connection to the session" : "the session does not answer";
  set(by("stale"), frame.over ? "The session has ended."
    : `STALE for ${clock(old / 1000)}: ${why}. Do not trust this board.`);
}

function draw() {
  drawStale();
  if (frame === null) return;
  const now = frame.view.at + (frame.over ? 0 : frame.speed * since(made) / 1000);
  drawNext(now);
  drawHeads(now);
  drawFoot(now);
}

// ---- presses

// Down on the button and up on or near it. A click without a pointer comes from a keyboard.
function pressable(node, act) {
  node.addEventListener("pointerdown", (event) => {
    node.setPointerCapture(event.pointerId);
    node.classList.add("down");
  });
  node.addEventListener("pointerup", (event) => {
    if (!node.classList.replace("down", "up")) return;
    node.classList.remove("up");
    const {left, right, top, bottom} = node.getBoundingClientRect();
    const inside = event.clientX > left - SLOP && event.clientX < right + SLOP &&
      event.clientY > top - SLOP && event.clientY < bottom + SLOP;
    if (inside) act();
  });
  node.addEventListener("pointercancel", () => node.classList.remove("down"));
  node.addEventListener("contextmenu", (event) => event.preventDefault());
  node.addEventListener("click", (event) => { if (event.detail === 0) act(); });
}

function post(path, what) {
  return fetch(path, {method: "POST", headers: {"Content-Type": "application/json"},
    body: JSON.stringify(what)});
}

const sending = new Set(); // water presses twice: one press at a time for each button
async function press(chair, button, answer) {
  const key = `${chair} ${button}`;
  if (sending.has(key)) return;
  sending.add(key);
  answer("sending");
  try {
    const reply = await post("/touch", {chair, button});
    answer(reply.ok ? (await reply.json()).said || "Noted."
      : `NOT taken, ${reply.status === 504 ? "the session does not answer" : "refused"}. Say it.`);
  } catch {
    answer("NOT taken, no connection. Say it.");
  } finally {
    setTimeout(() => sending.delete(key), 400);
    setTimeout(() => { if (!sending.has(key)) answer(""); }, ANSWER_MS);
  }
}

// ---- connection

async function connect() {
  if (stream !== null) stream.close();
  stream = null;
  try {
    const reply = await fetch("/role", {signal: AbortSignal.timeout(4000)});
    if (reply.status === 401) return askToPair();
    if (!reply.ok) throw new Error(reply.status);
    role = (await reply.json()).role;
  } catch {
    setTimeout(connect, 1000);
    return;
  }
  by("pair").hidden = true;
  alive = tick();
  stream = new EventSource("/events");
  stream.addEventListener("open", () => { beat = -1; }); // another session may be there now
  stream.addEventListener("message", show);
  stream.addEventListener("alive", () => { alive = tick(); });
  stream.addEventListener("error", () => {
    if (stream !== null && stream.readyState === EventSource.CLOSED) retry();
  });
}

function retry() {
  if (stream !== null) stream.close();
  stream = null;
  setTimeout(connect, 1000);
}

async function askToPair() {
  if (by("pair").hidden) by("code").value = "";
  by("pair").hidden = false;
  try {
    const reply = await post("/ask", {});
    set(by("pairing"), reply.ok ? "Look at the session's terminal."
      : "Pairing is closed: start the session's board again.");
  } catch {
    set(by("pairing"), "No connection.");
  }
}

// a lost microphone cannot be told "heard" by voice
makeButton(by("room"), 0, "heard", "Heard");
by("again").addEventListener("click", askToPair);
by("pair").addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    const reply = await post("/pair", {code: by("code").value});
    if (reply.ok) connect();
    else set(by("pairing"), "That code is wrong or too old.");
  } catch {
    set(by("pairing"), "No connection.");
  }
});
setInterval(() => {
  draw();
  if (stream !== null && since(alive) > SILENT_MS) retry();
}, 500);
connect();
