import { describe, expect, it } from "vitest";
import { address, match, route, startRouter, token } from "./router";

describe("addresses", () => {
  it("name a screen and carry its parameters", () => {
    expect(match("/desk/3/p1%2Bp2/s4")).toEqual({
      screen: "desk",
      params: { piece: "3", patch: "p1+p2", step: "s4" },
    });
  });

  it("are the same with and without a last slash", () => {
    expect(match("/today/")).toEqual(match("/today"));
  });

  it("that fit nothing name no screen", () => {
    for (const unknown of ["/", "/desk", "/nowhere", "/desk/3/p1/s4/more", "/desk//p1"]) {
      expect(match(unknown)).toBeNull();
    }
  });

  it("that are badly encoded are taken as written instead of failing", () => {
    expect(match("/quilt/%E0%A4%A")?.params).toEqual({ piece: "%E0%A4%A" });
  });

  it("that are built lead back to what they were built from", () => {
    const params = { piece: "12", patch: "p1+p2 / right" };
    expect(match(address("/desk/:piece/:patch", params))).toEqual({ screen: "desk", params });
  });
});

describe("the page's own address", () => {
  it("is looked at once more when the router starts: a link may have come while the page was loading", () => {
    history.replaceState(null, "", "/sign-in#late-token");
    expect(token.value).toBe("");
    startRouter();
    expect(token.value).toBe("late-token");
    expect(route.value?.screen).toBe("signin");
  });
});
