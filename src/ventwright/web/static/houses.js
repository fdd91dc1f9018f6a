// The list of houses, and where a new one is begun.
import { byId, make } from "./dom.js";
import { habits } from "./habits.js";
import * as outbox from "./outbox.js";
import { openPart, shortName } from "./parts.js";
import { showWaiting, warnWhile } from "./waiting.js";

let waiting = [];

async function open() {
  const { preference, number_style } = habits();
  const key = JSON.stringify(["forms", preference, number_style]);
  let found = await outbox.keptPage(key);
  try {
    const answer = await fetch(`/api/forms?${new URLSearchParams({ preference, number_style })}`, { cache: "no-store" });
    found = await answer.json();
    await outbox.keepPage(key, found);
  } catch {
    if (!found) {
      byId("say").textContent = "The server does not answer, and the form is not on this phone yet.";
      return;
    }
  }
  const form = found.forms.find((one) => one.name === "house");
  openPart({
    form, isNew: true, title: "New house", note: "Rooms, systems and terminals come next, on its own page.",
    propose({ id, name }) {
      let isOwn = false;
      id.addEventListener("input", () => (isOwn = true));
      name.addEventListener("input", () => isOwn || (id.value = shortName(name.value)));
      name.focus();
    },
    post({ texts: { id, ...texts }, number_style: style }) {
      return ["/api/houses", { house_id: String(id ?? "").trim(), texts, number_style: style }, `House ${texts.name ?? ""}`];
    },
    kept: () => (byId("say").textContent = "Kept on this phone; it is sent when the server answers."),
    after({ item }) {
      const address = `/houses/${encodeURIComponent(item.body.house_id)}`;
      if (waiting.some((one) => !one.refused)) byId("say").replaceChildren("Saved. ", make("a", { href: address }, "Open the house"));
      else location.assign(address);
    },
  });
}

byId("new-house").addEventListener("click", open);
outbox.watch((items, trouble) => {
  waiting = items;
  showWaiting(byId("waiting"), items, trouble);
});
byId("outbox").addEventListener("click", () => outbox.send());
warnWhile(() => waiting.some((item) => !item.refused));
outbox.send();
document.documentElement.dataset.ready = "yes";
