// Asks for what stands in the visit while the page's other modules are still on their way.
import { habits } from "./habits.js";

/** Opened without the server, the page is that of no visit in particular: its address says which. */
export const visit = decodeURIComponent(location.pathname.split("/")[2]);
export const at = `/api/visits/${encodeURIComponent(visit)}`;

const pageAddress = () => {
  const { preference, number_style } = habits();
  return `${at}/page?${new URLSearchParams({ preference, number_style })}`;
};
const ask = (address) => fetch(address, { cache: "no-store" });

let early = { address: pageAddress(), answer: ask(pageAddress()) };
// Whoever takes it is told; nobody may ever take it.
early.answer.catch(() => {});

/** The server's answer with the page: the one asked for early, once, else a new one. */
export function askForPage() {
  const address = pageAddress();
  const before = early;
  early = null;
  return before?.address === address ? before.answer : ask(address);
}
