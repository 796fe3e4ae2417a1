/** The way to the server on this machine. */

import type { Refusal, ServerEvent } from "./messages";

/** The key stands behind `#key=` in the address that the page was opened with. */
const KEY = new URLSearchParams(location.hash.slice(1)).get("key") ?? "";
const HEADERS = { "Sumpwright-Key": KEY };

/** A request that was not taken, in the server's own words. */
export class Refused extends Error {}

async function answerOf<Answer>(response: Response): Promise<Answer> {
  if (response.ok) return (await response.json()) as Answer;
  let says = `The server did not take it (${response.status}).`;
  if (response.headers.get("content-type")?.startsWith("application/json")) {
    says = ((await response.json()) as Refusal).says;
  }
  throw new Refused(says);
}

async function reach(path: string, asked?: RequestInit): Promise<Response> {
  try {
    return await fetch(path, { ...asked, headers: { ...HEADERS, ...asked?.headers } });
  } catch (trouble) {
    if (trouble instanceof DOMException && trouble.name === "AbortError") throw trouble;
    throw new Refused("Sumpwright does not answer: is it still running in its window?");
  }
}

export async function get<Answer>(path: string): Promise<Answer> {
  return answerOf(await reach(path));
}

/** A part of a file. */
export async function getBytes(path: string): Promise<Uint8Array> {
  const response = await reach(path);
  if (!response.ok) await answerOf(response);
  return new Uint8Array(await response.arrayBuffer());
}

export async function send<Answer>(path: string, body: unknown, signal?: AbortSignal): Promise<Answer> {
  const asked: RequestInit = {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(body),
  };
  if (signal) asked.signal = signal;
  return answerOf(await reach(path, asked));
}

export async function upload<Answer>(path: string, file: Blob): Promise<Answer> {
  return answerOf(
    await reach(path, {
      method: "POST",
      headers: { "content-type": "application/octet-stream" },
      body: file,
    }),
  );
}

/** A file of the pack as something that can be saved. */
export async function packFile(name: string): Promise<Blob> {
  const response = await reach(`/pack-file?name=${encodeURIComponent(name)}`);
  if (!response.ok) await answerOf(response);
  return response.blob();
}

/**
 * Listen to the server until the page is closed. `lost` is called when it falls silent and
 * `back` when it answers again; what was missed meanwhile is not sent again.
 */
export async function listen(
  heard: (event: ServerEvent) => void,
  lost: () => void,
  back: () => void,
): Promise<never> {
  let wasLost = false;
  for (;;) {
    try {
      const response = await reach("/events");
      if (!response.ok || !response.body) throw new Refused("no events");
      if (wasLost) back();
      wasLost = false;
      const lines = response.body.pipeThrough(new TextDecoderStream()).getReader();
      let rest = "";
      for (;;) {
        const { done, value } = await lines.read();
        if (done) break;
        rest += value;
        const whole = rest.split("\n");
        rest = whole.pop() ?? "";
        for (const line of whole) {
          if (line.startsWith("data:")) heard(JSON.parse(line.slice(5)) as ServerEvent);
        }
      }
    } catch (trouble) {
      if (!(trouble instanceof Refused || trouble instanceof TypeError)) throw trouble;
    }
    if (!wasLost) lost();
    wasLost = true;
    await new Promise((go) => setTimeout(go, 1500));
  }
}
