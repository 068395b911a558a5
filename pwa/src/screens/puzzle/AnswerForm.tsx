/** The way to answer: notes tapped on the score, one of some choices, or a number. */
import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import type { Puzzle } from "../../api/types";
import { text } from "../../strings/catalogue";
import { answerKind, type Given } from "./checking";

type Props = {
  puzzle: Puzzle;
  tapped: readonly string[];
  clear: () => void;
  answer: (given: Given) => void;
  children: ComponentChildren;
};

export function AnswerForm(props: Props) {
  const kind = answerKind(props.puzzle);
  if (kind === "notes") return <ByNotes {...props} />;
  return kind === "choice" ? <ByChoice {...props} /> : <ByNumber {...props} />;
}

function ByNotes({ tapped, clear, answer, children }: Props) {
  return (
    <div class="puzzle-answer">
      <div class="puzzle-aside">
        <p role="status">{text("puzzle.tapped", { n: tapped.length })}</p>
        <button type="button" class="button button-plain" disabled={!tapped.length} onClick={clear}>
          {text("puzzle.clear")}
        </button>
      </div>
      <div class="puzzle-buttons">
        {children}
        <button type="button" class="button button-main" disabled={!tapped.length} onClick={() => answer(tapped)}>
          {text("puzzle.answer")}
        </button>
      </div>
    </div>
  );
}

function ByChoice({ puzzle, answer, children }: Props) {
  return (
    <div class="puzzle-answer">
      <ul class="plain-list puzzle-choices">
        {puzzle.choices.map((choice, index) => (
          <li key={choice}>
            <button type="button" class="button" onClick={() => answer(index)}>
              {choice}
            </button>
          </li>
        ))}
      </ul>
      <div class="puzzle-buttons">{children}</div>
    </div>
  );
}

function ByNumber({ answer, children }: Props) {
  const [number, setNumber] = useState(0);
  return (
    <div class="puzzle-answer">
      <fieldset class="row puzzle-number">
        <legend class="out-of-sight">{text("puzzle.number")}</legend>
        <button
          type="button"
          class="button"
          aria-label={text("puzzle.less")}
          disabled={number === 0}
          onClick={() => setNumber(number - 1)}
        >
          −
        </button>
        <output>{number}</output>
        <button
          type="button"
          class="button"
          aria-label={text("puzzle.more")}
          onClick={() => setNumber(number + 1)}
        >
          +
        </button>
      </fieldset>
      <div class="puzzle-buttons">
        {children}
        <button type="button" class="button button-main" onClick={() => answer(number)}>
          {text("puzzle.answer")}
        </button>
      </div>
    </div>
  );
}
