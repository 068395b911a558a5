/** Which screen the address names. History addresses, matched by a table; no dependency. */
import { computed, signal } from "@preact/signals";

export type Params = Readonly<Record<string, string>>;

/** Every address of the page: `:name` stands for one segment. The first that fits wins. */
export const ROUTES = {
  "/sign-in": "signin",
  "/care": "care",
  "/today": "today",
  "/quilt": "quilt",
  "/quilt/:piece": "quilt",
  "/puzzle": "puzzle",
  "/puzzle/:piece": "puzzle",
  "/puzzle/:piece/:puzzle": "puzzle",
  "/desk/:piece/:patch": "desk",
  "/desk/:piece/:patch/:step": "desk",
  "/log": "log",
  "/log/:student": "log",
  "/studio": "studio",
  "/piece/:piece": "piece",
  "/sheet/:piece": "sheet",
  "/student/:student": "student",
  "/brief/:student": "brief",
} as const satisfies Record<string, string>;

export type Screen = (typeof ROUTES)[keyof typeof ROUTES];

const path = signal(globalThis.location?.pathname ?? "/");

/** The token of a link stands behind the # of its address, where no server and no log ever sees it. */
export const token = signal(tokenHere());

function tokenHere(): string {
  const { pathname, hash } = globalThis.location ?? { pathname: "", hash: "" };
  return pathname === "/sign-in" ? hash.slice(1) : "";
}

const guards = new Set<() => boolean>();

/** The screen and its parameters, or null where no address fits. */
export const route = computed(() => match(path.value));

export function match(pathname: string): { screen: Screen; params: Params } | null {
  for (const [pattern, screen] of Object.entries(ROUTES)) {
    const params = paramsOf(pattern, pathname);
    if (params) return { screen, params };
  }
  return null;
}

function paramsOf(pattern: string, pathname: string): Params | null {
  const wanted = pattern.split("/");
  const given = pathname.replace(/\/+$/, "").split("/");
  if (wanted.length !== given.length) return null;
  const params: Record<string, string> = {};
  for (const [index, part] of wanted.entries()) {
    const value = given[index] ?? "";
    if (part.startsWith(":") && value) params[part.slice(1)] = decode(value);
    else if (part !== value) return null;
  }
  return params;
}

function decode(segment: string): string {
  try {
    return decodeURIComponent(segment);
  } catch {
    return segment;
  }
}

/** Build an address: `address("/desk/:piece/:patch", { piece: 3, patch: "p1+p2" })`. */
export function address(pattern: keyof typeof ROUTES, params: Record<string, string | number> = {}): string {
  return pattern.replace(/:(\w+)/g, (_, name: string) => encodeURIComponent(String(params[name] ?? "")));
}

/** Go to an address of the page, unless something open (a try, an unsaved correction) holds on. */
export function go(to: string, options: { replace?: boolean } = {}): void {
  if (![...guards].every((mayLeave) => mayLeave())) return;
  history[options.replace ? "replaceState" : "pushState"](null, "", to);
  arrive();
  scrollTo(0, 0);
}

/** Ask `mayLeave` before the page goes elsewhere; returns how to stop asking. */
export function guardLeaving(mayLeave: () => boolean): () => void {
  guards.add(mayLeave);
  return () => guards.delete(mayLeave);
}

function arrive(): void {
  path.value = location.pathname;
  token.value = tokenHere();
}

/** Follow the browser's back and forward, and clicks on the page's own links. */
export function startRouter(): void {
  addEventListener("popstate", arrive);
  addEventListener("hashchange", arrive);
  document.addEventListener("click", (event) => {
    const link = (event.target as Element).closest?.("a[href]");
    if (!(link instanceof HTMLAnchorElement) || !isOwnClick(event, link)) return;
    event.preventDefault();
    go(link.pathname + link.search);
  });
  // The address may have changed while the page was loading, before anybody listened.
  arrive();
}

function isOwnClick(event: MouseEvent, link: HTMLAnchorElement): boolean {
  const plain = event.button === 0 && !event.metaKey && !event.ctrlKey && !event.shiftKey && !event.altKey;
  const here = link.origin === location.origin && !link.target && !link.hasAttribute("download");
  return plain && here && !event.defaultPrevented && match(link.pathname) !== null;
}
