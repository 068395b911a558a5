/** Which piece? Asked where a screen needs one; with a single piece there is nothing to ask. */
import { useEffect } from "preact/hooks";
import { paths } from "../api/paths";
import type { PieceCard } from "../api/types";
import { useKept } from "../offline/kept";
import { go } from "../router/router";
import { text } from "../strings/catalogue";
import { Asking } from "./asking";

/** `to` gives the address at which the screen shows a piece. */
export function ChoosePiece({ title, to }: { title: string; to: (piece: number) => string }) {
  const asked = useKept<PieceCard[]>(paths.pieces);
  const only = asked.data?.length === 1 ? asked.data[0] : undefined;
  useEffect(() => {
    if (only) go(to(only.id), { replace: true });
  }, [only]);
  return (
    <div class="stack">
      <h1>{title}</h1>
      <Asking of={asked}>
        {(pieces) => (
          <>
            <p>{text(pieces.length ? "choose.piece" : "choose.none")}</p>
            <ul class="plain-list stack">
              {pieces.map((piece) => (
                <li key={piece.id}>
                  <a class="button button-far button-wide" href={to(piece.id)}>
                    {piece.title}
                  </a>
                </li>
              ))}
            </ul>
          </>
        )}
      </Asking>
    </div>
  );
}
