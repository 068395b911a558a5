/** The usual cautions where practice can hurt; shown once at the start, then a page of their own. */
import { useState } from "preact/hooks";
import { ApiError } from "../../api/client";
import { Problem } from "../../design/asking";
import { waitingCount } from "../../offline/outbox";
import { go } from "../../router/router";
import { careSeen, choosePin, person, session, signOut } from "../../session/session";
import { text } from "../../strings/catalogue";
import "./care.css";

const CAUTIONS = ["hurt", "pause", "sit", "ears", "limits"] as const;

export default function Care() {
  const first = session.value?.care_seen === false;
  return (
    <div class="stack care">
      <h1>{text("care.title")}</h1>
      {first && <p>{text("care.start")}</p>}
      {CAUTIONS.map((caution) => (
        <section key={caution} class={caution === "hurt" ? "cloth stitched stack" : "stack seam-above"}>
          <h2>{text(`care.${caution}.title`)}</h2>
          <p>{text(`care.${caution}`)}</p>
        </section>
      ))}
      {first && person.value?.role !== "teacher" ? <ReadIt /> : <ThisDevice />}
    </div>
  );
}

function ReadIt() {
  const read = () => {
    void careSeen();
    go("/", { replace: true });
  };
  return (
    <button type="button" class="button button-main button-far care-read" onClick={read}>
      {text("care.read")}
    </button>
  );
}

function ThisDevice() {
  const [error, setError] = useState<ApiError | null>(null);
  const leave = () =>
    signOut().catch((problem) => {
      if (!(problem instanceof ApiError)) throw problem;
      setError(problem);
    });
  return (
    <section class="stack seam-above">
      <h2>{text("care.device")}</h2>
      <p>{text("care.signed-in", { name: person.value?.nickname ?? "" })}</p>
      {session.value?.pin === "unset" && <ChoosePin />}
      {waitingCount.value > 0 && <p class="notice">{text("care.signout.waiting", { n: waitingCount.value })}</p>}
      {error && <Problem error={error} />}
      <p>
        <button type="button" class="button" onClick={() => void leave()}>
          {text("care.signout")}
        </button>
      </p>
      <p class="quiet">{text("care.sound")}</p>
    </section>
  );
}

function ChoosePin() {
  const [error, setError] = useState<ApiError | null>(null);
  const save = (event: SubmitEvent) => {
    event.preventDefault();
    const pin = String(new FormData(event.target as HTMLFormElement).get("pin") ?? "");
    choosePin(pin).catch((problem) => {
      if (!(problem instanceof ApiError)) throw problem;
      setError(problem);
    });
  };
  return (
    <form class="stack cloth" onSubmit={save}>
      <h3>{text("care.pin.title")}</h3>
      <p>{text("care.pin.why")}</p>
      <label class="stack">
        {text("signin.pin.label")}
        <input
          name="pin"
          type="password"
          inputMode="numeric"
          pattern="[0-9]{4,8}"
          autocomplete="new-password"
          required
        />
      </label>
      {error && <Problem error={error} />}
      <button type="submit" class="button">
        {text("care.pin.save")}
      </button>
    </form>
  );
}
