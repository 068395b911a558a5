/** A piece comes in by its score file; what is wrong with a file is said by the server in one sentence. */
import { useState } from "preact/hooks";
import { send } from "../../api/client";
import { paths } from "../../api/paths";
import type { PieceCard } from "../../api/types";
import { Form, type Typed } from "../../design/form";
import { address, go } from "../../router/router";
import { text } from "../../strings/catalogue";

const ENDINGS = ".musicxml,.xml,.mxl,.mei,.krn,.kern,.abc,.mid,.midi";

export function ImportPiece() {
  const [name, setName] = useState("");
  const bringIn = async (typed: Typed) => {
    const file = typed.file("score");
    if (!file) return;
    setName(file.name);
    const piece = await send<PieceCard>("POST", paths.upload(file.name), file);
    go(address("/piece/:piece", { piece: piece.id }));
  };
  return (
    <details class="studio-add">
      <summary>{text("studio.import")}</summary>
      <Form send={bringIn} label={text("studio.import")} busy={text("studio.import.busy", { name })} main>
        <label class="field">
          {text("studio.import.choose")}
          <span class="quiet">{text("studio.import.how")}</span>
          <input type="file" name="score" accept={ENDINGS} required />
        </label>
      </Form>
    </details>
  );
}
