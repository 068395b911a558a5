/** Links by which a student and the parents come in: made, shown once with a square for a camera, revoked. */
import { useState } from "preact/hooks";
import { send } from "../../api/client";
import { paths } from "../../api/paths";
import type { Link, NewLink, Student } from "../../api/types";
import { Asking } from "../../design/asking";
import { Field, Form, type Typed } from "../../design/form";
import { safeSvg } from "../../design/svg";
import { useKept } from "../../offline/kept";
import { dayText, text } from "../../strings/catalogue";

export function Links({ student }: { student: Student }) {
  const links = useKept<Link[]>(paths.links(student.id));
  const [made, setMade] = useState<NewLink | null>(null);
  const make = async (body: object) => {
    setMade(await send<NewLink>("POST", paths.links(student.id), body));
    await links.reload();
  };
  return (
    <section class="stack seam-above">
      <h2>{text("student.links")}</h2>
      <p class="quiet">{text("student.links.why")}</p>
      {made && <Fresh made={made} />}
      <div class="fields">
        <Form send={() => make({ role: "student" })} label={text("student.links.student")} class="link-form">
          {null}
        </Form>
        <Form
          send={(typed: Typed) => make({ role: "parent", parent_nickname: typed.one("parent") })}
          label={text("student.links.parent")}
          class="link-form"
          clears
        >
          <Field name="parent" label={text("student.links.parent.name")} required />
        </Form>
      </div>
      <Asking of={links}>
        {(found) => (
          <ul class="plain-list stack">
            {found.map((link) => (
              <li key={link.id} class="row">
                <OneLink link={link} changed={links.reload} />
              </li>
            ))}
          </ul>
        )}
      </Asking>
    </section>
  );
}

function Fresh({ made }: { made: NewLink }) {
  const [copied, setCopied] = useState(false);
  const copy = async () => {
    await navigator.clipboard.writeText(made.url);
    setCopied(true);
  };
  const hang = (place: HTMLElement | null) => {
    const square = safeSvg(made.qr_svg);
    if (place && square) place.replaceChildren(square);
  };
  return (
    <div class="cloth stitched fresh-link" role="status">
      <div class="qr" role="img" aria-label={text("student.links.qr")} ref={hang} />
      <div class="stack">
        <p>{text("student.links.new", { name: made.link.person.nickname })}</p>
        <code>{made.url}</code>
        <p class="row">
          <button type="button" class="button" onClick={() => void copy()}>
            {text("student.links.copy")}
          </button>
          <span>{copied && text("student.links.copied")}</span>
        </p>
      </div>
    </div>
  );
}

function OneLink({ link, changed }: { link: Link; changed: () => Promise<void> }) {
  const revoke = async () => {
    await send("DELETE", paths.link(link.id));
    await changed();
  };
  const name = text("student.link.line", { role: text(`role.${link.role}`), name: link.person.nickname });
  return (
    <>
      <span>
        {name},{" "}
        {link.last_used_at
          ? text("student.link.used", { day: dayText(link.last_used_at.slice(0, 10)) })
          : text("student.link.unused")}
      </span>
      {link.revoked ? (
        <span class="quiet">{text("student.link.revoked")}</span>
      ) : (
        <button
          type="button"
          class="button"
          aria-label={`${text("student.link.revoke")}: ${name}`}
          onClick={() => void revoke()}
        >
          {text("student.link.revoke")}
        </button>
      )}
    </>
  );
}
