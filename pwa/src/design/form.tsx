/** A form that is sent to the server: it says what it does, and what went wrong, in one sentence. */
import type { ComponentChildren } from "preact";
import { useRef, useState } from "preact/hooks";
import { ApiError } from "../api/client";
import { text } from "../strings/catalogue";
import { Problem } from "./asking";

/** What was typed, by field name; a name that occurs several times keeps all its values in `all`. */
export type Typed = {
  one: (name: string) => string;
  all: (name: string) => string[];
  file: (name: string) => File | null;
};

type Props = {
  /** Send what was typed; fails with an `ApiError`. */
  send: (typed: Typed) => Promise<unknown>;
  label: string;
  /** Empty the form once it was sent. */
  clears?: boolean;
  main?: boolean;
  /** What is said once it was sent; "Saved." where nothing is given. */
  done?: string;
  busy?: string;
  class?: string;
  children: ComponentChildren;
};

type State = "open" | "busy" | "done" | ApiError;

export function Form(props: Props) {
  const form = useRef<HTMLFormElement>(null);
  const [state, setState] = useState<State>("open");
  const submit = async (event: SubmitEvent) => {
    event.preventDefault();
    if (!form.current || state === "busy") return;
    setState("busy");
    setState(await tryTo(props.send, typedIn(form.current)));
    if (props.clears) form.current?.reset();
  };
  return (
    <form class={`stack ${props.class ?? ""}`} ref={form} onSubmit={(event) => void submit(event)}>
      {props.children}
      {state instanceof ApiError && <Problem error={state} />}
      <p class="row">
        <button type="submit" class={props.main ? "button button-main" : "button"} disabled={state === "busy"}>
          {props.label}
        </button>
        <span role="status">
          {state === "busy" && (props.busy ?? text("asking.wait"))}
          {state === "done" && (props.done ?? text("saved"))}
        </span>
      </p>
    </form>
  );
}

async function tryTo(send: Props["send"], typed: Typed): Promise<"done" | ApiError> {
  try {
    await send(typed);
    return "done";
  } catch (error) {
    if (error instanceof ApiError) return error;
    throw error;
  }
}

function typedIn(form: HTMLFormElement): Typed {
  const data = new FormData(form);
  const one = (name: string) => String(data.get(name) ?? "");
  const all = (name: string) => data.getAll(name).map(String);
  const file = (name: string) => {
    const found = data.get(name);
    return found instanceof File && found.size > 0 ? found : null;
  };
  return { one, all, file };
}

/** A field with its label above. */
export function Field(props: {
  name: string;
  label: string;
  why?: string;
  type?: "text" | "number" | "date";
  value?: string | number;
  min?: number;
  max?: number;
  required?: boolean;
}) {
  const { name, label, why, type = "text", value, min, max, required } = props;
  const limits = { ...(min === undefined ? {} : { min }), ...(max === undefined ? {} : { max }) };
  return (
    <label class="field">
      {label}
      {why && <span class="quiet">{why}</span>}
      <input
        name={name}
        type={type as "text"}
        defaultValue={value ?? ""}
        required={required}
        autocomplete="off"
        {...limits}
      />
    </label>
  );
}

/** One of a few values. */
export function Choice<V extends string>(props: {
  name: string;
  label: string;
  value: V;
  of: readonly { value: V; label: string }[];
}) {
  return (
    <label class="field">
      {props.label}
      <select name={props.name}>
        {props.of.map(({ value, label }) => (
          <option key={value} value={value} selected={value === props.value}>
            {label}
          </option>
        ))}
      </select>
    </label>
  );
}
