// The one live connection: what the piano does, told to this page. It comes back by itself when it is lost.

const heard = new Map();

export function when(kind, act) {
  if (!heard.has(kind)) heard.set(kind, []);
  heard.get(kind).push(act);
}

function tell(kind, event) {
  for (const act of heard.get(kind) ?? []) act(event);
}

function connect(path, again = 500) {
  const scheme = location.protocol === "https:" ? "wss:" : "ws:";
  const socket = new WebSocket(`${scheme}//${location.host}${path}`);
  socket.addEventListener("open", () => { again = 500; tell("open", {}); });
  socket.addEventListener("message", (message) => {
    const event = JSON.parse(message.data);
    tell(event.kind, event);
  });
  socket.addEventListener("close", () => {
    tell("lost", {});
    setTimeout(() => connect(path, Math.min(again * 2, 8000)), again);
  });
}

// Only once every script of the page has said what it wants to hear: what is told before that would be lost.
const path = document.body.dataset.live;
if (path && document.readyState === "complete") connect(path);
else if (path) document.addEventListener("DOMContentLoaded", () => connect(path), { once: true });
