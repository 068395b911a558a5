/** Coming in: a link opens at once, with its PIN on further devices; the teacher has a passphrase. */
import { useEffect, useState } from "preact/hooks";
import { ApiError } from "../../api/client";
import { Problem } from "../../design/asking";
import { Cloth } from "../../design/cloth";
import { go, token } from "../../router/router";
import { signInByLink, signInByPassphrase, wasHere } from "../../session/session";
import { text } from "../../strings/catalogue";
import "./signin.css";

export default function SignIn() {
  return (
    <div class="signin stack">
      <div class="signin-strip" aria-hidden="true">
        <span>
          <Cloth hand="right" state="secure" />
        </span>
        <span>
          <Cloth hand="both" state="in work" />
        </span>
        <span>
          <Cloth hand="left" state="due" />
        </span>
      </div>
      <h1>{text("signin.title")}</h1>
      {wasHere.value && <p class="notice">{text("signin.ended")}</p>}
      {token.value ? <ByLink key={token.value} token={token.value} /> : <WithoutLink />}
    </div>
  );
}

function ByLink(props: { token: string }) {
  const [pinAsked, setPinAsked] = useState(false);
  const attempt = useAttempt(async (pin?: string) => {
    await signInByLink(props.token, pin);
    go("/", { replace: true });
  });
  useEffect(() => void attempt.run(), []);
  useEffect(() => {
    if (attempt.error?.code === "pin_needed") setPinAsked(true);
  }, [attempt.error]);
  if (pinAsked) return <PinForm {...attempt} />;
  return attempt.error ? <Problem error={attempt.error} /> : <p role="status">{text("signin.opening")}</p>;
}

type Attempt = ReturnType<typeof useAttempt>;

/** Run a sign-in, and hold what went wrong. */
function useAttempt(enter: (secret?: string) => Promise<void>) {
  const [error, setError] = useState<ApiError | null>(null);
  const [busy, setBusy] = useState(false);
  const run = async (secret?: string) => {
    setBusy(true);
    try {
      await enter(secret);
    } catch (problem) {
      if (!(problem instanceof ApiError)) throw problem;
      setError(problem);
    } finally {
      setBusy(false);
    }
  };
  return { run, error, busy };
}

function PinForm({ run, error, busy }: Attempt) {
  return (
    <form class="stack cloth stitched" onSubmit={(event) => submit(event, "pin", run)}>
      <p>{text("signin.pin")}</p>
      <label class="stack">
        {text("signin.pin.label")}
        <input name="pin" type="password" inputMode="numeric" pattern="[0-9]{4,8}" autocomplete="off" required />
      </label>
      {error && error.code !== "pin_needed" && <Problem error={error} />}
      <button type="submit" class="button button-main" disabled={busy}>
        {text("signin.pin.enter")}
      </button>
    </form>
  );
}

function WithoutLink() {
  const { run, error, busy } = useAttempt(async (passphrase = "") => {
    await signInByPassphrase(passphrase);
    go("/", { replace: true });
  });
  return (
    <>
      <section class="stack">
        <h2>{text("signin.students")}</h2>
        <p>{text("signin.students.how")}</p>
      </section>
      <form class="stack cloth stitched" onSubmit={(event) => submit(event, "passphrase", run)}>
        <h2>{text("signin.teacher")}</h2>
        <label class="stack">
          {text("signin.passphrase")}
          <input name="passphrase" type="password" autocomplete="current-password" required />
        </label>
        {error && <Problem error={error} />}
        <button type="submit" class="button button-main" disabled={busy}>
          {text("signin.enter")}
        </button>
      </form>
    </>
  );
}

function submit(event: SubmitEvent, field: string, run: (secret: string) => Promise<void>): void {
  event.preventDefault();
  void run(String(new FormData(event.target as HTMLFormElement).get(field) ?? ""));
}
