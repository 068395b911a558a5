/** What changes from one time to the next. */
import type { Analysis } from "../api/types";
import { text } from "../strings/catalogue";

export function Comparisons({ comparisons }: { comparisons: Analysis["comparisons"] }) {
  return (
    <dl class="comparisons">
      {comparisons.map(({ first, second, differences }) => (
        <div key={`${first} ${second}`}>
          <dt>{text("piece.compare.pair", { first, second })}</dt>
          <dd>{differences.map((difference) => difference.text).join(" ") || text("piece.compare.same")}</dd>
        </div>
      ))}
    </dl>
  );
}
