import { newId, now } from "./ids.js";

const form = document.getElementById("begin");
const say = document.getElementById("say");
const house = document.getElementById("main").dataset.house;
const fields = ["technician", "firm", "purpose"].map((id) => document.getElementById(id));
for (const field of fields.slice(0, 2)) field.value = localStorage.getItem(`ventwright.${field.id}`) ?? "";

// Made once: a second tap on a slow network begins the same visit.
const body = { id: `${now().slice(0, 10)}-${newId().slice(0, 8)}` };

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  for (const field of fields) body[field.id] = field.value.trim();
  body.at ??= now();
  localStorage.setItem("ventwright.technician", body.technician);
  localStorage.setItem("ventwright.firm", body.firm);
  say.textContent = "Beginning …";
  try {
    const answer = await fetch(`/api/houses/${encodeURIComponent(house)}/visits`, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify(body),
    });
    const told = await answer.json();
    if (answer.ok) location.assign(`/visits/${encodeURIComponent(told.id)}`);
    else say.textContent = told.message;
  } catch {
    say.textContent = "The server does not answer; try again.";
  }
});
