/** One line about the keyboard: which one listens, or why none does and what to do instead. */
import { useState } from "preact/hooks";
import { ApiError } from "../../api/client";
import { ALL } from "../../midi/keyboards";
import { text } from "../../strings/catalogue";
import type { Bench } from "./bench";

export function KeyboardLine({ bench }: { bench: Bench }) {
  const pairing = bench.pairing.value;
  const state = bench.keyboard.value;
  return (
    <section
      class={state === "asking" ? "stack seam-above desk-keyboard-asking" : "stack seam-above"}
      aria-label={text("desk.keyboard")}
    >
      {pairing?.joined ? <p>{text("desk.paired")}</p> : <p role="status">{text(`desk.keyboard.${state}`)}</p>}
      {state === "not-asked" && (
        <p>
          <button type="button" class="button" onClick={() => void bench.listenToKeyboard()}>
            {text("desk.keyboard.ask")}
          </button>
        </p>
      )}
      {state === "ready" && <Choice bench={bench} />}
      {pairing && !pairing.joined && <Code code={pairing.code} />}
      {(state === "unsupported" || state === "refused") && !pairing && <PairButton bench={bench} />}
    </section>
  );
}

function Choice({ bench }: { bench: Bench }) {
  const { keyboards } = bench.browser;
  const [chosen, setChosen] = useState(keyboards.chosen());
  const known = keyboards.keyboards();
  if (known.length < 2) return null;
  const choose = (id: string) => {
    bench.choose(id);
    setChosen(id);
  };
  return (
    <label class="stack">
      {text("desk.keyboard.choose")}
      <select value={chosen} onChange={(event) => choose(event.currentTarget.value)}>
        <option value={ALL}>{text("desk.keyboard.all")}</option>
        {known.map((keyboard) => (
          <option key={keyboard.id} value={keyboard.id}>
            {keyboard.name}
          </option>
        ))}
      </select>
    </label>
  );
}

function PairButton({ bench }: { bench: Bench }) {
  const [problem, setProblem] = useState("");
  const pair = () =>
    bench.pair().catch((error) => {
      if (!(error instanceof ApiError)) throw error;
      setProblem(error.message);
    });
  return (
    <>
      <p>
        <button type="button" class="button" onClick={() => void pair()}>
          {text("desk.pair")}
        </button>
      </p>
      {problem && <p class="problem">{problem}</p>}
    </>
  );
}

function Code({ code }: { code: string }) {
  return (
    <>
      <p>{text("desk.pair.how")}</p>
      <p class="desk-code">
        <code>
          counterpane listen --server {location.origin} --code {code}
        </code>
      </p>
    </>
  );
}
