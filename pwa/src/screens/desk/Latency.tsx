/** This device's latency: shown, measured by playing along with clicks, and cleared. */
import { keepLatency, latencyMs } from "../../sound/latency";
import { text } from "../../strings/catalogue";
import type { Bench } from "./bench";

export function Latency({ bench }: { bench: Bench }) {
  const { measuring } = bench;
  const state = measuring.state.value;
  const known = latencyMs.value;
  return (
    <fieldset class="stack">
      <legend>{text("desk.latency")}</legend>
      {known === null && <p>{text("desk.latency.why")}</p>}
      <p role="status">
        {known !== null && state !== "running" && text("desk.latency.known", { n: known })}
        {state === "running" && text("desk.latency.running", { n: measuring.taps.value.length })}
        {(state === "too-few" || state === "scattered") && ` ${text(`desk.latency.${state}`)}`}
      </p>
      <p class="row">
        {state === "running" ? (
          <button type="button" class="button" onClick={() => measuring.stop()}>
            {text("desk.stop")}
          </button>
        ) : (
          <button type="button" class="button" onClick={() => void measuring.start()}>
            {text(known === null ? "desk.latency.measure" : "desk.latency.again")}
          </button>
        )}
        {known !== null && state !== "running" && (
          <button type="button" class="button" onClick={() => keepLatency(null)}>
            {text("desk.latency.clear")}
          </button>
        )}
      </p>
    </fieldset>
  );
}
