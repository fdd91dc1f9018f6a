// The pairing code travels in the fragment: browsers never send that part to a server, so no log holds it.
const say = document.getElementById("say");
const token = document.getElementById("token");
const name = document.getElementById("name");

async function pair() {
  say.textContent = "Pairing …";
  let answer;
  try {
    answer = await fetch("/api/pair", {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ token: token.value.trim(), name: name.value.trim() }),
    });
  } catch {
    say.textContent = "The serving machine does not answer. Is it on the same network?";
    return;
  }
  if (answer.ok) {
    location.replace("/");
    return;
  }
  say.textContent = (await answer.json()).message;
}

function takeFragment() {
  const given = decodeURIComponent(location.hash.slice(1));
  if (!given) return;
  history.replaceState(null, "", location.pathname);
  token.value = given;
  say.textContent = "Give this device a name, then pair it.";
}

name.value = /iPhone|iPad/.test(navigator.userAgent) ? "iPhone or iPad" : /Android/.test(navigator.userAgent) ? "Android phone" : "Browser";
document.getElementById("pair").addEventListener("submit", (event) => {
  event.preventDefault();
  pair();
});
addEventListener("hashchange", takeFragment);
takeFragment();
