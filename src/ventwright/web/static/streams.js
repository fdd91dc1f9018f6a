// Devices that the server listens to, and what they send while somebody listens here.

/** Channels that can be heard; none where the server is away. */
export async function offered() {
  try {
    const answer = await fetch("/api/streams", { cache: "no-store" });
    return answer.ok ? await answer.json() : [];
  } catch {
    return [];
  }
}

/** Listen to a channel: `sample` is called with each, `trouble` with words. Returns what ends it. */
export function hear(channel, { sample, trouble }) {
  const at = `/api/streams/${encodeURIComponent(channel.device)}/${encodeURIComponent(channel.channel)}/events`;
  let events = null;
  let timer = 0;
  const open = () => {
    events = new EventSource(at);
    events.addEventListener("sample", (event) => sample(JSON.parse(event.data)));
    events.addEventListener("trouble", (event) => {
      const { message, remedy } = JSON.parse(event.data);
      trouble(remedy ? `${message}; ${remedy}` : message);
    });
    events.onerror = () => {
      trouble("The server does not answer; it is tried again.");
      if (events.readyState === EventSource.CLOSED) timer = setTimeout(open, 3000);
    };
  };
  open();
  return () => {
    clearTimeout(timer);
    events.close();
  };
}
