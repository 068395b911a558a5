/** The teacher's two minutes before a lesson; prints on one page. */
import { paths } from "../../api/paths";
import type { Brief, WeakSpot } from "../../api/types";
import { Asking } from "../../design/asking";
import { useKept } from "../../offline/kept";
import { address, type Params } from "../../router/router";
import { EngravedScore } from "../../score/ScoreView";
import { dayText, text } from "../../strings/catalogue";
import { measures, minutes } from "../../strings/phrases";
import "./brief.css";

export default function BriefScreen({ params }: { params: Params }) {
  const asked = useKept<Brief>(paths.brief(Number(params.student)));
  return (
    <div class="brief stack">
      <Asking of={asked}>{(brief) => <OneBrief brief={brief} />}</Asking>
    </div>
  );
}

function OneBrief({ brief }: { brief: Brief }) {
  return (
    <>
      <header class="stack brief-head">
        <h1>{text("brief.title", { name: brief.student.nickname })}</h1>
        <Totals brief={brief} />
        <p class="row not-printed">
          <button type="button" class="button" onClick={() => print()}>
            {text("print")}
          </button>
          <a class="button" href={address("/student/:student", { student: brief.student.id })}>
            {brief.student.nickname}
          </a>
        </p>
      </header>
      <section class="stack seam-above">
        <h2>{text("brief.weak")}</h2>
        {brief.weak_spots.length ? (
          <ol class="plain-list brief-spots">
            {brief.weak_spots.map((spot) => (
              <li key={`${spot.piece_id} ${spot.measure} ${spot.hand} ${spot.kind}`}>
                <Spot spot={spot} />
              </li>
            ))}
          </ol>
        ) : (
          <p>{text("brief.weak.none")}</p>
        )}
      </section>
      <div class="brief-rest">
        <Order brief={brief} />
        <NotPractised brief={brief} />
        <Puzzles brief={brief} />
        <Decided brief={brief} />
      </div>
    </>
  );
}

function Totals({ brief }: { brief: Brief }) {
  if (!brief.days_practised) return <p>{text("brief.none")}</p>;
  return (
    <p>
      {text("brief.since", {
        day: dayText(brief.since, "long"),
        minutes: Math.round(brief.minutes),
        asked: brief.minutes_asked,
        days: text("brief.days", { n: brief.days_practised }),
      })}
      {brief.self_judged_share > 0 && ` ${text("brief.self", { n: Math.round(brief.self_judged_share * 100) })}`}
    </p>
  );
}

function Spot({ spot }: { spot: WeakSpot }) {
  return (
    <article class="brief-spot">
      <div>
        <h3>
          {spot.hand
            ? text("brief.spot", { measure: spot.measure, hand: text(`hands.${spot.hand}`) })
            : text("brief.spot.nohand", { measure: spot.measure })}
        </h3>
        <p class="quiet">{spot.piece_title}</p>
        <p>{spot.text}</p>
        <p class="quiet">
          {spot.evidence} ({text(`brief.trend.${spot.trend}`)})
        </p>
      </div>
      {spot.svg && <EngravedScore svgs={[spot.svg]} label={text("brief.spot.score", { measure: spot.measure })} />}
    </article>
  );
}

function Order({ brief }: { brief: Brief }) {
  if (!brief.proposed_order.length) return null;
  return (
    <section class="stack">
      <h2>{text("brief.order")}</h2>
      <ol>
        {brief.proposed_order.map((step) => (
          <li key={`${step.piece_id} ${step.title}`}>
            <b>{step.title}</b> ({minutes(step.minutes)}): {step.text}
          </li>
        ))}
      </ol>
    </section>
  );
}

function NotPractised({ brief }: { brief: Brief }) {
  return (
    <section class="stack">
      <h2>{text("brief.not")}</h2>
      {brief.not_practised.length ? (
        <ul>
          {brief.not_practised.map((left) => (
            <li key={`${left.piece_id} ${left.section}`}>
              <b>
                {left.piece_title}, {left.section} ({measures(left.first_measure, left.last_measure, "short")})
              </b>
              : {left.reason}
            </li>
          ))}
        </ul>
      ) : (
        <p>{text("brief.not.none")}</p>
      )}
    </section>
  );
}

function Puzzles({ brief }: { brief: Brief }) {
  if (!brief.puzzles.length) return null;
  return (
    <section class="stack">
      <h2>{text("brief.puzzles")}</h2>
      <ul>
        {brief.puzzles.map(({ kind, right, tried }) => (
          <li key={kind}>{text("brief.puzzles.line", { kind, right, tried })}</li>
        ))}
      </ul>
    </section>
  );
}

function Decided({ brief }: { brief: Brief }) {
  const decided = brief.decisions.filter((piece) => piece.decisions.length);
  if (!decided.length) return null;
  return (
    <section class="stack">
      <h2>{text("brief.decisions")}</h2>
      <ul>
        {decided.flatMap((piece) =>
          piece.decisions.map((decision) => (
            <li key={`${piece.piece_id} ${decision.section}`}>
              <b>
                {piece.piece_title}, {decision.section}
              </b>
              : {text(`quilt.sound.${decision.shape}`)}, {text(`quilt.sound.${decision.touch}`)},{" "}
              {text("quilt.sound.leads").toLocaleLowerCase()}: {text(`quilt.sound.${decision.leads}`)}
            </li>
          )),
        )}
      </ul>
    </section>
  );
}
