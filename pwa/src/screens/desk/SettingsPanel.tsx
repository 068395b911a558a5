/** Tempo and what is heard: the tempo at hand, the rest one tap away. */
import type { ComponentChildren } from "preact";
import { beatQuarters } from "../../sound/timeline";
import { text } from "../../strings/catalogue";
import type { Bench } from "./bench";
import { alongOf, clampTempo, passageOf } from "./drill";
import { Latency } from "./Latency";
import { TuningKept } from "./Tuned";

const TEMPO_STEP = 4;
const SIZES = [80, 100, 130, 160, 200];

type Props = { bench: Bench; size: number; onSize: (size: number) => void };

export function SettingsPanel({ bench, size, onSize }: Props) {
  return (
    <section class="stack seam-above" aria-label={text("desk.settings")}>
      <Tempo bench={bench} />
      <details>
        <summary>{text("desk.settings.more")}</summary>
        <div class="stack">
          <Along bench={bench} />
          <Metronome bench={bench} />
          <Sizes size={size} onSize={onSize} />
          <Where bench={bench} />
        </div>
      </details>
    </section>
  );
}

function Tempo({ bench }: { bench: Bench }) {
  const { tempo } = bench.settings.value;
  const quarters = beatQuarters(passageOf(bench.drill).meter);
  const change = (by: number) => bench.change({ tempo: clampTempo(tempo + by * quarters) });
  return (
    <fieldset class="desk-tempo-row">
      <legend>{text("desk.tempo")}</legend>
      <button type="button" class="button" aria-label={text("desk.slower")} onClick={() => change(-TEMPO_STEP)}>
        −
      </button>
      <output class="desk-tempo">{text("desk.tempo.beats", { n: Math.round(tempo / quarters) })}</output>
      <button type="button" class="button" aria-label={text("desk.faster")} onClick={() => change(TEMPO_STEP)}>
        +
      </button>
      <span class="quiet desk-tempo-share">
        {text("desk.tempo.share", { n: Math.round((100 * tempo) / bench.drill.goal_tempo) })}
      </span>
    </fieldset>
  );
}

function Along({ bench }: { bench: Bench }) {
  const other = alongOf({ ...bench.step, heard: "other" });
  if (other.length === 0) return null;
  const on = bench.settings.value.along.length > 0;
  return (
    <Check on={on} onChange={(wanted) => bench.change({ along: wanted ? other : [] })}>
      {text("desk.along")}
    </Check>
  );
}

function Metronome({ bench }: { bench: Bench }) {
  const { metronome, countIn, subdivision } = bench.settings.value;
  return (
    <>
      <Check on={metronome} onChange={(wanted) => bench.change({ metronome: wanted })}>
        {text("desk.metronome")}
      </Check>
      {metronome && (
        <fieldset class="row">
          <legend>{text("desk.subdivision")}</legend>
          {([1, 2, 3] as const).map((parts) => (
            <button
              type="button"
              class="button"
              key={parts}
              aria-pressed={parts === subdivision}
              onClick={() => bench.change({ subdivision: parts })}
            >
              {text(`desk.subdivision.${parts}`)}
            </button>
          ))}
        </fieldset>
      )}
      <Check on={countIn} onChange={(wanted) => bench.change({ countIn: wanted })}>
        {text("desk.count-in")}
      </Check>
    </>
  );
}

function Sizes({ size, onSize }: { size: number; onSize: (size: number) => void }) {
  const step = (by: number) => onSize(SIZES[SIZES.indexOf(size) + by] ?? size);
  return (
    <fieldset class="row">
      <legend>{text("desk.size")}</legend>
      <button type="button" class="button" disabled={size === SIZES[0]} onClick={() => step(-1)}>
        {text("desk.size.smaller")}
      </button>
      <button type="button" class="button" disabled={size === SIZES.at(-1)} onClick={() => step(1)}>
        {text("desk.size.larger")}
      </button>
    </fieldset>
  );
}

function Where({ bench }: { bench: Bench }) {
  if (!bench.listening.value) return null;
  return (
    <>
      <TuningKept bench={bench} />
      <Check
        on={bench.soundKeys.value}
        onChange={(wanted) => {
          bench.soundKeys.value = wanted;
        }}
      >
        {text("desk.sound-keys")}
      </Check>
      {bench.browser.keyboards.hasOutput() && (
        <Check
          on={bench.soundThere.value}
          onChange={(wanted) => {
            bench.soundThere.value = wanted;
          }}
        >
          {text("desk.sound-there")}
        </Check>
      )}
      {bench.keyboard.value === "ready" && <Latency bench={bench} />}
    </>
  );
}

type CheckProps = { on: boolean; onChange: (on: boolean) => void; children: ComponentChildren };

function Check({ on, onChange, children }: CheckProps) {
  return (
    <label class="choice">
      <input type="checkbox" checked={on} onChange={(event) => onChange(event.currentTarget.checked)} />
      {children}
    </label>
  );
}
