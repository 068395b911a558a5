/** The desk: one drill at the piano, from "hear it" to what to change. */
import { useEffect, useMemo } from "preact/hooks";
import { paths } from "../../api/paths";
import type { Drill, Step } from "../../api/types";
import { Asking } from "../../design/asking";
import { useKept } from "../../offline/kept";
import type { Params } from "../../router/router";
import { text } from "../../strings/catalogue";
import { Bench } from "./bench";
import { Try } from "./Try";
import "./desk.css";

export default function Desk({ params }: { params: Params }) {
  const drill = useKept<Drill>(paths.drill(Number(params.piece), params.patch ?? ""));
  return (
    <Asking of={drill}>
      {(found) => {
        const step = stepOf(found, params.step);
        return step ? <AtTheBench drill={found} step={step} /> : <p class="problem">{text("desk.no-step")}</p>;
      }}
    </Asking>
  );
}

/** The step that was asked for, else the one that comes next. A puzzle is solved on its own screen. */
function stepOf(drill: Drill, wanted: string | undefined): Step | undefined {
  const { steps } = drill.ladder;
  const playable = steps.filter((step) => step.kind !== "puzzle");
  return (
    playable.find((step) => step.id === wanted) ??
    playable.find((step) => step.id === drill.current_step_id) ??
    playable[0]
  );
}

function AtTheBench({ drill, step }: { drill: Drill; step: Step }) {
  // A drill that is fetched again must not replace the bench in the middle of a try.
  const bench = useMemo(() => new Bench(drill, step), [drill.piece.id, drill.patch.id, step.id]);
  useEffect(() => {
    void bench.open();
    return () => bench.close();
  }, [bench]);
  return <Try bench={bench} />;
}
