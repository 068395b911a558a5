/** From the address to the screen. A screen is fetched when it is first wanted. */
import { signal } from "@preact/signals";
import type { ComponentType } from "preact";
import { useEffect } from "preact/hooks";
import { Problem } from "./design/asking";
import { ClothDefs } from "./design/cloth";
import { Frame } from "./design/frame";
import { go, type Params, route, type Screen, token } from "./router/router";
import { person, session } from "./session/session";
import { text } from "./strings/catalogue";

type ScreenView = ComponentType<{ params: Params }>;

const SCREENS: Record<Screen, () => Promise<{ default: ScreenView }>> = {
  signin: () => import("./screens/signin"),
  care: () => import("./screens/care"),
  today: () => import("./screens/today"),
  quilt: () => import("./screens/quilt"),
  puzzle: () => import("./screens/puzzle"),
  desk: () => import("./screens/desk"),
  log: () => import("./screens/log"),
  studio: () => import("./screens/studio"),
  piece: () => import("./screens/piece"),
  sheet: () => import("./screens/sheet"),
  student: () => import("./screens/student"),
  brief: () => import("./screens/brief"),
};

/** The first screen of each role. */
const HOME = { student: "/today", parent: "/log", teacher: "/studio" } as const;

const fetched = signal<Partial<Record<Screen, ScreenView>>>({});
const missing = signal(false);

export function App() {
  const wanted = screenWanted();
  useEffect(() => {
    if (typeof wanted === "string") void fetchScreen(wanted);
    else go(wanted.redirect, { replace: true });
  }, [typeof wanted === "string" ? wanted : wanted.redirect]);

  const View = typeof wanted === "string" ? fetched.value[wanted] : undefined;
  return (
    <>
      <ClothDefs />
      <Frame screen={typeof wanted === "string" ? wanted : null}>
        {View && <View key={JSON.stringify(route.value?.params)} params={route.value?.params ?? {}} />}
        {missing.value && (
          <Problem error={{ message: text("app.screen-missing") }} again={() => location.reload()} />
        )}
      </Frame>
    </>
  );
}

/** The screen to show, or where to go instead: strangers sign in, and the cautions come before the first practice. */
function screenWanted(): Screen | { redirect: string } {
  const screen = route.value?.screen as Screen | undefined;
  if (token.value) return "signin";
  if (!person.value) return screen === "signin" ? screen : { redirect: "/sign-in" };
  if (!session.value?.care_seen && person.value.role !== "teacher")
    return screen === "care" ? screen : { redirect: "/care" };
  if (!screen || screen === "signin") return { redirect: HOME[person.value.role] };
  return screen;
}

/** Begin to fetch the screen that the address names, while the server is still asked who is here. */
export function fetchAhead(): void {
  const screen = route.value?.screen;
  if (screen) void fetchScreen(screen);
}

async function fetchScreen(screen: Screen): Promise<void> {
  try {
    const view = (await SCREENS[screen]()).default;
    fetched.value = { ...fetched.value, [screen]: view };
    missing.value = false;
  } catch {
    missing.value = true;
  }
}
