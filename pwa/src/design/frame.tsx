/** What stands round every screen: the ways to go, and what the person has to know about this device. */
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { dismissRefused, refusedWrites, waitingCount } from "../offline/outbox";
import { roomTrouble } from "../offline/room";
import { updateNow, updateReady } from "../offline/update";
import type { Screen } from "../router/router";
import { person, session } from "../session/session";
import { type Key, text } from "../strings/catalogue";
import "./frame.css";

type Way = { to: string; label: Key; screens: readonly Screen[] };

const WAYS: Record<"student" | "parent" | "teacher", readonly Way[]> = {
  student: [
    { to: "/today", label: "way.today", screens: ["today", "desk"] },
    { to: "/quilt", label: "way.quilt", screens: ["quilt"] },
    { to: "/puzzle", label: "way.puzzle", screens: ["puzzle"] },
    { to: "/care", label: "way.care", screens: ["care"] },
  ],
  parent: [
    { to: "/log", label: "way.log", screens: ["log"] },
    { to: "/care", label: "way.care", screens: ["care"] },
  ],
  teacher: [
    {
      to: "/studio",
      label: "way.studio",
      screens: ["studio", "piece", "student", "brief", "sheet", "quilt", "log"],
    },
    { to: "/care", label: "way.care", screens: ["care"] },
  ],
};

/** Screens that use the whole height: a try at the piano is not framed by anything. */
const UNFRAMED: readonly (Screen | null)[] = ["desk", "signin"];

export function Frame({ screen, children }: { screen: Screen | null; children: ComponentChildren }) {
  const main = useRef<HTMLElement>(null);
  const arrived = useRef(false);
  useEffect(() => {
    if (arrived.current) main.current?.focus({ preventScroll: true });
    arrived.current = screen !== null;
  }, [screen]);
  const framed = mayWander() && !UNFRAMED.includes(screen);
  return (
    <div class={framed ? "frame" : "frame unframed"}>
      {framed && <Hem screen={screen} />}
      <main ref={main} tabIndex={-1}>
        {children}
      </main>
      <Notices />
    </div>
  );
}

/** Before the cautions have been read there is only one way. */
function mayWander(): boolean {
  return person.value !== null && (session.value?.care_seen === true || person.value.role === "teacher");
}

function Hem({ screen }: { screen: Screen | null }) {
  const role = person.value?.role ?? "student";
  return (
    <nav class="hem" aria-label={text("way.all")}>
      {WAYS[role].map((way) => (
        <a key={way.to} href={way.to} aria-current={screen && way.screens.includes(screen) ? "page" : undefined}>
          {text(way.label)}
        </a>
      ))}
    </nav>
  );
}

function Notices() {
  const waiting = waitingCount.value;
  return (
    <div class="notices not-printed" role="status">
      {roomTrouble.value !== "none" && <p class="problem">{text(`room.${roomTrouble.value}`)}</p>}
      {waiting > 0 && <p class="notice">{text("outbox.waiting", { n: waiting })}</p>}
      {refusedWrites.value.map((refused) => (
        <p class="problem" key={refused.client_id}>
          {text("outbox.refused", { sentence: refused.sentence })}{" "}
          <button type="button" class="button" onClick={() => void dismissRefused(refused.client_id)}>
            {text("outbox.dismiss")}
          </button>
        </p>
      ))}
      {updateReady.value && (
        <p class="notice row">
          {text("update.ready")}
          <button type="button" class="button" onClick={updateNow}>
            {text("update.now")}
          </button>
        </p>
      )}
    </div>
  );
}
