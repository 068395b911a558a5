/** The one place that speaks to the server. Every failure becomes an `ApiError` with one sentence. */
import { signal } from "@preact/signals";
import { text } from "../strings/catalogue";

/** True once the server has said that nobody is signed in here any more. */
export const sessionEnded = signal(false);

/** What a write must carry so that no other site can make it; set from the session. */
export const csrf = signal("");

/**
 * `status` is the HTTP status, 0 where the server could not be reached. `message` is one plain sentence. `code`
 * tells the page what to do about it: "sign_in", "pin_needed", "pin_wrong", "csrf"; empty where nothing special.
 */
export class ApiError extends Error {
  readonly status: number;
  readonly code: string;

  constructor(status: number, sentence: string, code = "") {
    super(sentence);
    this.name = "ApiError";
    this.status = status;
    this.code = code;
  }

  get offline(): boolean {
    return this.status === 0;
  }
}

type Method = "GET" | "POST" | "PUT" | "PATCH" | "DELETE";

/** Ask the server; resolves to the JSON it answers, or null where it answers nothing. */
export async function send<T>(method: Method, path: string, body?: unknown): Promise<T> {
  const headers: Record<string, string> = { Accept: "application/json" };
  if (method !== "GET") headers["X-Csrf"] = csrf.value;
  const raw = body instanceof Blob;
  if (body !== undefined) headers["Content-Type"] = raw ? "application/octet-stream" : "application/json";
  const request: RequestInit = { method, headers, credentials: "same-origin", cache: "no-cache" };
  if (body !== undefined) request.body = raw ? body : JSON.stringify(body);
  return answer<T>(await reach(path, request));
}

/** Read from the server. A session that has ended is noted, so that the page can lead to the door. */
export async function get<T>(path: string): Promise<T> {
  try {
    return await send<T>("GET", path);
  } catch (error) {
    if (error instanceof ApiError && error.code === "sign_in") sessionEnded.value = true;
    throw error;
  }
}

/** Fetch the present token of the session, which another tab may have renewed. */
export async function renewToken(): Promise<void> {
  csrf.value = (await get<{ csrf: string }>("/api/session")).csrf;
}

async function reach(path: string, request: RequestInit): Promise<Response> {
  try {
    return await fetch(path, request);
  } catch {
    throw new ApiError(0, text("error.offline"));
  }
}

async function answer<T>(response: Response): Promise<T> {
  const json: unknown = await response.json().catch(() => null);
  if (response.ok) return json as T;
  const problem = isProblem(json) ? json : { error: text("error.server", { status: response.status }) };
  throw new ApiError(response.status, problem.error, problem.code ?? "");
}

function isProblem(json: unknown): json is { error: string; code?: string | null } {
  return typeof (json as { error?: unknown } | null)?.error === "string";
}
