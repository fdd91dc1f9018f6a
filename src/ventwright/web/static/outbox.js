// Entries wait here, on the phone, until the record acknowledges them. They are sent in the order
// they were made, again and again, under ids that never change: the record takes each one once.
import { openDB } from "./vendor/idb.js";

const LEASE_MS = 8000;
const NAP_MS = [500, 1000, 2000, 4000, 8000];
const me = Array.from(crypto.getRandomValues(new Uint8Array(8))).join("");

const opened = openDB("ventwright", 1, {
  upgrade(db) {
    db.createObjectStore("queue", { keyPath: "place", autoIncrement: true });
    db.createObjectStore("pages");
    db.createObjectStore("lease");
  },
});
/** Settled once the phone's storage is there. */
export const isOpen = opened.then(() => true);
const told = "BroadcastChannel" in globalThis ? new BroadcastChannel("ventwright") : null;
const listeners = new Set();
let sending = false;
let misses = 0;
let timer = 0;

/** Call back with (waiting items, last trouble) whenever the queue changes. */
export function watch(listener) {
  listeners.add(listener);
}

async function tellAll(trouble = "") {
  const items = await waiting();
  for (const listener of listeners) listener(items, trouble);
}

export async function waiting() {
  return (await opened).getAll("queue");
}

/** Keep an item for good before anything else happens to it. */
export async function put(item) {
  const db = await opened;
  const change = db.transaction("queue", "readwrite", { durability: "strict" });
  change.store.add(item);
  await change.done;
  told?.postMessage("more");
  await tellAll();
  misses = 0;
  send();
}

export async function drop(place) {
  const db = await opened;
  const change = db.transaction("queue", "readwrite", { durability: "strict" });
  change.store.delete(place);
  await change.done;
  told?.postMessage("less");
  await tellAll();
}

export async function keepPage(key, page) {
  await (await opened).put("pages", page, key);
}

export async function keptPage(key) {
  return (await opened).get("pages", key);
}

export async function forgetPages() {
  await (await opened).clear("pages");
}

/** Only one tab sends at a time; a tab that died loses its lease by time. */
async function lease() {
  const db = await opened;
  const change = db.transaction("lease", "readwrite");
  const held = await change.store.get("sender");
  const free = !held || held.owner === me || held.until < Date.now();
  if (free) await change.store.put({ owner: me, until: Date.now() + LEASE_MS }, "sender");
  await change.done;
  return free;
}

/** Once nothing is left to send, the next page or tab need not wait for the lease to run out. */
async function release() {
  if ((await waiting()).some((one) => !one.refused)) return;
  const change = (await opened).transaction("lease", "readwrite");
  if ((await change.store.get("sender"))?.owner === me) await change.store.delete("sender");
  await change.done;
}

async function post(item) {
  const stop = new AbortController();
  const limit = setTimeout(() => stop.abort(), item.photo ? 60_000 : LEASE_MS - 1000);
  try {
    return await fetch(item.address, {
      method: "POST",
      headers: { "content-type": item.photo ? item.photo.type || "image/jpeg" : "application/json" },
      body: item.photo ?? JSON.stringify(item.body),
      signal: stop.signal,
      cache: "no-store",
    });
  } finally {
    clearTimeout(limit);
  }
}

/** Refused for what it says: worth mending, not worth sending again. */
const isRefusal = (status) => [400, 404, 409, 413, 415, 422].includes(status);

/** Send the first that waits; returns what keeps the rest from going, empty if nothing does. */
async function sendFirst() {
  const item = (await waiting()).find((one) => !one.refused);
  if (!item) return null;
  if (!(await lease())) return "";
  const answer = await post(item);
  const body = await answer.json().catch(() => null);
  if (answer.ok && body?.id === item.id) {
    await drop(item.place);
    await release();
    await settled(item, body);
    return undefined;
  }
  if (isRefusal(answer.status) && body?.code) {
    await (await opened).put("queue", { ...item, refused: body });
    await release();
    await settled(item, body);
    return undefined;
  }
  if (answer.status !== 401) return body?.message ?? "the server does not answer as it should";
  await forgetPages();
  return "this phone is not paired any more";
}

async function settled(item, body) {
  const items = await waiting();
  for (const listener of listeners) listener(items, "", item, body);
}

export async function send() {
  if (sending) return;
  sending = true;
  clearTimeout(timer);
  let trouble;
  try {
    do trouble = await sendFirst();
    while (trouble === undefined);
  } catch {
    trouble = "the server is out of reach";
  }
  sending = false;
  const left = (await waiting()).some((one) => !one.refused);
  misses = trouble && left ? misses + 1 : 0;
  await tellAll(left && trouble ? trouble : "");
  if (left) timer = setTimeout(send, NAP_MS[Math.min(misses, NAP_MS.length - 1)]);
}

told?.addEventListener("message", (event) => {
  tellAll();
  if (event.data === "more") send();
});
addEventListener("online", send);
addEventListener("pageshow", send);
document.addEventListener("visibilitychange", () => document.hidden || send());

/** The queue as a file: photos as data addresses, so that it can be read anywhere. */
export async function asFile() {
  const items = [];
  for (const { place, refused, ...item } of await waiting()) {
    if (item.photo) item.photo = await dataAddress(item.photo);
    items.push(item);
  }
  return new Blob([JSON.stringify({ schema: "ventwright-outbox-1", items }, null, 1)], { type: "application/json" });
}

function dataAddress(blob) {
  return new Promise((done, failed) => {
    const reader = new FileReader();
    reader.onload = () => done(reader.result);
    reader.onerror = () => failed(reader.error);
    reader.readAsDataURL(blob);
  });
}

/** Take in such a file; what is already waiting is not doubled. Returns how many were taken. */
export async function fromFile(file) {
  const found = JSON.parse(await file.text());
  if (found?.schema !== "ventwright-outbox-1" || !Array.isArray(found.items)) throw new Error("not a file of waiting entries");
  const known = new Set((await waiting()).map((item) => item.id));
  let count = 0;
  for (const item of found.items) {
    // Only this server's own interface may be written to, whatever the file says.
    if (typeof item.id !== "string" || known.has(item.id) || !/^\/api\/(visits|houses|instruments)(\/|$)/.test(item.address)) continue;
    if (typeof item.photo === "string") item.photo = bytesOf(item.photo);
    await put(item);
    count += 1;
  }
  return count;
}

function bytesOf(address) {
  const [head, text] = address.split(",", 2);
  const bytes = Uint8Array.from(atob(text), (one) => one.charCodeAt(0));
  return new Blob([bytes], { type: head.slice(5).split(";")[0] });
}
