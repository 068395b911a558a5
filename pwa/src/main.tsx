import { render } from "preact";
import { App } from "./app";
import "./design/tokens.css";
import "./design/base.css";
import { dropOld } from "./offline/kept";
import { startOutbox } from "./offline/outbox";
import { startUpdates } from "./offline/update";
import { startRouter } from "./router/router";
import { restore } from "./session/session";
import { preferred, speak } from "./strings/catalogue";

async function open(): Promise<void> {
  await speak(preferred(navigator.languages));
  startRouter();
  await restore();
  render(<App />, document.getElementById("page") as HTMLElement);
  startOutbox();
  void startUpdates();
  await dropOld();
}

void open();
