// What needs a hand, from the API. The page keeps nothing: every 15 s it asks again.
const at = (id) => document.getElementById(id);

async function ask(method, path, body) {
  const headers = body === undefined ? {} : { "Content-Type": "application/json" };
  const answer = await fetch("/api/" + path, { method, headers, body: body === undefined ? undefined : JSON.stringify(body) });
  const text = await answer.text();
  const value = text ? JSON.parse(text) : null;
  if (!answer.ok) throw new Error((value && value.detail) || "the shop did not answer; try again");
  return value;
}

function list(id, items, none) {
  const lines = items.length ? items : [none];
  at(id).replaceChildren(...lines.map((line) => {
    const li = document.createElement("li");
    li.textContent = line;
    return li;
  }));
}

const hours = (h) => (Math.abs(h) < 1 ? Math.round(Math.abs(h) * 60) + " min" : Math.abs(h).toFixed(1) + " h");

function running(r) {
  let line = (r.step || r.title) + (r.vessel ? " in " + r.vessel : "") + ": " + hours(r.gone_h || 0) + " gone";
  if (typeof r.look_in_h === "number") line += r.look_in_h < 0 ? ", look now (" + hours(r.look_in_h) + " late)" : ", look in " + hours(r.look_in_h);
  return line;
}

async function show() {
  const me = await ask("GET", "session");
  at("enter").hidden = me.role !== "nobody";
  at("bench").hidden = me.role === "nobody";
  at("leave").hidden = me.role === "nobody" || !me.has_passcode;
  at("phone").hidden = me.role !== "owner" || !me.has_passcode;
  at("who").textContent = me.role === "nobody" ? "" : "here as " + me.role;
  if (me.role === "nobody") return;
  const now = await ask("GET", "today");
  list("running", now.running.map(running), "Nothing runs.");
  list("waiting", now.waiting.map((o) => o.title + (o.due ? ", until " + o.due : "")), "No offer waits.");
  list("jobs", now.jobs.map((j) => (j.due || "no date") + ": " + j.title + " (" + j.state + ")"), "No job is open.");
  const tasks = (await ask("GET", "tasks?limit=20")).tasks;
  list("tasks", tasks.filter((t) => t.state !== "done").map((t) => t.kind + ": " + t.state + (t.doing ? ", " + t.doing : "") + (t.why ? ". " + t.why : "")), "Nothing waits to be worked out.");
}

const tell = (e) => { at("who").textContent = e.message; };

at("enter").addEventListener("submit", async (event) => {
  event.preventDefault();
  at("refused").textContent = "";
  try {
    await ask("POST", "session", { passcode: at("passcode").value.normalize("NFC") });
    at("passcode").value = "";
    await show();
  } catch (e) {
    at("refused").textContent = e.message;
  }
});
at("leave").addEventListener("click", () => ask("DELETE", "session").then(show).catch(tell));
at("invite").addEventListener("click", async () => {
  try {
    const invite = await ask("POST", "session/invite", { role: "hand" });
    at("code").innerHTML = invite.qr_svg; // drawn by the shop itself
  } catch (e) {
    tell(e);
  }
});

async function begin() {
  // An invite stands behind the #, which browsers do not send and logs do not hold.
  const token = new URLSearchParams(location.hash.slice(1)).get("invite");
  if (token) {
    history.replaceState(null, "", location.pathname);
    await ask("POST", "session/accept", { token }).catch((e) => { at("refused").textContent = e.message; });
  }
  await show();
}

begin().catch(tell);
setInterval(() => show().catch(tell), 15000);
