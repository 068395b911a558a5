/** A finished try on its way to the log. */
import { paths } from "../../api/paths";
import type { AttemptPage, Drill, Step } from "../../api/types";
import type { RawEvent } from "../../midi/messages";
import { type Outcome, post } from "../../offline/outbox";

type Tap = 1 | 2 | 3;

/** What the student says of a try that nothing listened to. */
export interface Judgement {
  notes: Tap;
  rhythm: Tap;
  flow: Tap;
}

export interface Played {
  /** Milliseconds since 1970. */
  startedAt: number;
  events: readonly RawEvent[];
  /** Quarters a minute. */
  tempo: number;
  source: "web-midi" | "paired" | "self-judged";
  judgement?: Judgement | undefined;
}

const LONGEST_S = 7200;

/** Puts an attempt into the outbox under an id of its own: it arrives once, now or when there is a network. */
export function sendAttempt(drill: Drill, step: Step, played: Played): Promise<Outcome<AttemptPage>> {
  const client_id = crypto.randomUUID();
  const body = attemptBody(client_id, drill, step, played, Date.now());
  return post<AttemptPage>({ client_id, method: "POST", path: paths.attempts, body });
}

export function attemptBody(client_id: string, drill: Drill, step: Step, played: Played, now: number) {
  const { first_measure, last_measure, id: patch_id } = drill.patch;
  const judged = played.source === "self-judged";
  return {
    client_id,
    piece_id: drill.piece.id,
    patch_id,
    step_id: step.id,
    passage: { first_measure, last_measure, hands: step.hands, tempo: played.tempo },
    started_at: new Date(played.startedAt).toISOString(),
    seconds: Math.min(LONGEST_S, Math.max(0, (now - played.startedAt) / 1000)),
    source: played.source,
    raw_events: judged ? [] : played.events,
    ...(judged ? { self_judgement: played.judgement } : {}),
    app_version: __APP_VERSION__,
  };
}
