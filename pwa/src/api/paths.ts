/** Addresses of the server, built in one place: what is packed for offline use is found again by the same address. */
import type { Hands } from "./types";

type Query = Readonly<Record<string, string | number | undefined>>;

function path(base: string, query: Query = {}): string {
  const given = Object.entries(query)
    .filter(([, value]) => value !== undefined)
    .sort(([one], [other]) => one.localeCompare(other));
  const search = new URLSearchParams(given.map(([name, value]) => [name, String(value)]));
  return given.length ? `${base}?${search}` : base;
}

const part = encodeURIComponent;

export type EngravingRequest = {
  first?: number | undefined;
  last?: number | undefined;
  hands?: Hands;
  width?: number;
  size?: number;
  student?: number | undefined;
};

export const paths = {
  session: "/api/session",
  today: (date: string, student?: number) => path("/api/today", { date, student }),
  pieces: "/api/pieces",
  upload: (name: string) => path("/api/pieces", { name }),
  piece: (piece: number) => `/api/pieces/${piece}`,
  analysis: (piece: number) => `/api/pieces/${piece}/analysis`,
  corrections: (piece: number) => `/api/pieces/${piece}/corrections`,
  fingering: (piece: number) => `/api/pieces/${piece}/fingering`,
  sheet: (piece: number) => `/api/pieces/${piece}/sheet`,
  engraving: (piece: number, request: EngravingRequest = {}) => path(`/api/pieces/${piece}/engraving`, request),
  quilt: (piece: number, student?: number) => path(`/api/pieces/${piece}/quilt`, { student }),
  drill: (piece: number, patch: string, student?: number) =>
    path(`/api/pieces/${piece}/drills/${part(patch)}`, { student }),
  puzzles: (piece: number, student?: number) => path(`/api/pieces/${piece}/puzzles`, { student }),
  decisions: (piece: number, student?: number) => path(`/api/pieces/${piece}/decisions`, { student }),
  pieceAttempts: (piece: number, patch?: string) => path(`/api/pieces/${piece}/attempts`, { patch }),
  attempts: "/api/attempts",
  attempt: (id: number) => `/api/attempts/${id}`,
  puzzleAnswers: "/api/puzzle-answers",
  students: "/api/students",
  student: (id: number) => `/api/students/${id}`,
  links: (student: number) => `/api/students/${student}/links`,
  link: (id: number) => `/api/links/${id}`,
  assignments: (student: number) => `/api/students/${student}/assignments`,
  log: (student: number, weeks?: number) => path(`/api/students/${student}/log`, { weeks }),
  brief: (student: number) => `/api/students/${student}/brief`,
  plan: (student: number, days?: number) => path(`/api/students/${student}/plan`, { days }),
  erase: (student: number) => `/api/students/${student}/erase`,
  export: (student: number) => `/api/students/${student}/export`,
} as const;
