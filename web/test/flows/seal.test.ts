/** What is signed holds no free text, and nothing that a server would refuse. */
import { describe, expect, it } from "vitest";

import { seal } from "../../src/core/entry.ts";
import { fromBase64url } from "../../src/core/encoding.ts";
import { webCrypto } from "../../src/device/crypto.ts";
import { sealFreeTexts } from "../../src/flows/seal.ts";

describe("sealing", () => {
  it("leaves a digest of salt and text, fresh for every event", async () => {
    const [one, two] = [
      await sealFreeTexts(webCrypto, { text: "pump stopped" }),
      await sealFreeTexts(webCrypto, { text: "pump stopped" }),
    ];
    expect(one.fields).not.toEqual(two.fields);
    const [text] = one.texts;
    expect(text?.text).toBe("pump stopped");
    const again = await seal(webCrypto, fromBase64url(text?.salt ?? ""), "pump stopped");
    expect(one.fields).toEqual({ text: { sha256: again.sha256 } });
    expect(fromBase64url(text?.salt ?? "")).toHaveLength(16);
  });

  it("seals inside the value, and leaves codes and measures as they are", async () => {
    const value = {
      drug: "cefuroxime",
      volume_ul: 100,
      kept_because: "vial was read twice",
      kept_by: "scrub",
    };
    const { fields, texts } = await sealFreeTexts(webCrypto, { type: "step", value });
    expect(fields).toMatchObject({ value: { drug: "cefuroxime", volume_ul: 100, kept_by: "scrub" } });
    expect(JSON.stringify(fields)).not.toContain("twice");
    expect(texts).toHaveLength(1);
  });

  it("leaves out what is undefined or blank", async () => {
    const { fields, texts } = await sealFreeTexts(webCrypto, { type: "fault", text: "  ", stage: undefined });
    expect(fields).toEqual({ type: "fault" });
    expect(texts).toEqual([]);
  });

  it("replaces halves of characters and leaves out NUL, which a server would refuse for ever", async () => {
    const { fields } = await sealFreeTexts(webCrypto, {
      value: { model: "A\0B\ud83d", "na\0me": ["\udc00"] },
    });
    expect(fields).toEqual({ value: { model: "AB\ufffd", name: ["\ufffd"] } });
  });

  it("refuses a text of more than 10000 characters and says which", async () => {
    await expect(sealFreeTexts(webCrypto, { text: "x".repeat(10_001) })).rejects.toThrow(
      "text: found 10001 characters, expected at most 10000",
    );
  });
});
