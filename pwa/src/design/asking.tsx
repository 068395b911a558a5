/** What a screen shows while it waits for the server, and when it cannot have what it asked for. */
import type { ComponentChildren } from "preact";
import type { ApiError } from "../api/client";
import type { Resource } from "../offline/kept";
import { text } from "../strings/catalogue";

/** Show `children` with the data once it is there; before that, and where it fails, one sentence. */
export function Asking<T>(props: { of: Resource<T>; children: (data: T) => ComponentChildren }) {
  const { data, error, reload } = props.of;
  if (data !== undefined) return <>{props.children(data)}</>;
  if (error) return <Problem error={error} again={reload} />;
  return (
    <p class="quiet" role="status">
      {text("asking.wait")}
    </p>
  );
}

/** One sentence about what went wrong, and a way to try again. */
export function Problem({ error, again }: { error: Pick<ApiError, "message">; again?: () => void }) {
  return (
    <div class="problem stack" role="alert">
      <p>{error.message}</p>
      {again && (
        <p>
          <button type="button" class="button" onClick={() => void again()}>
            {text("asking.again")}
          </button>
        </p>
      )}
    </div>
  );
}
