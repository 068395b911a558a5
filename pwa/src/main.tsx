import { render } from "preact";
import { App, fetchAhead } from "./app";
import "./design/tokens.css";
import "./design/base.css";
import { canKeep } from "./offline/database";
import { dropOld } from "./offline/kept";
import { startOutbox } from "./offline/outbox";
import { startUpdates } from "./offline/update";
import { startRouter } from "./router/router";
import { restore } from "./session/session";
import { preferred, speak, text } from "./strings/catalogue";

async function open(): Promise<void> {
  await speak(preferred(navigator.languages));
  if (!(await canKeep())) return sayThatNothingCanBeKept();
  startRouter();
  fetchAhead();
  await restore();
  render(<App />, document.getElementById("page") as HTMLElement);
  startOutbox();
  void startUpdates();
  await dropOld();
}

/** Without its store the page could lose what was played: one sentence instead. */
function sayThatNothingCanBeKept(): void {
  render(
    <main>
      <p class="problem" role="alert">
        {text("app.no-store")}
      </p>
    </main>,
    document.getElementById("page") as HTMLElement,
  );
}

void open();
