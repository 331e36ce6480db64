/** The calls of a tablet to the server. Nothing here believes an answer: that is for a signature to say. */
import { HubheldError, RetryLater } from "../core/errors.ts";
import { isObject, member, type Json, type JsonObject } from "../core/json.ts";
import { parse } from "../core/strictJson.ts";

/** The server refused, in words. `kind` is the name of the problem, such as log-gap; it proves nothing by itself. */
export class Refusal extends HubheldError {
  override readonly name = "Refusal";
  constructor(
    message: string,
    readonly status: number,
    readonly kind: string,
  ) {
    super(message);
  }
}

/** No answer that our server could have given: no network, a time-out, a portal's page. */
export class Unreachable extends RetryLater {}

const TIMEOUT_MS = 20_000;
const ANSWER_DEPTH_MAX = 14;
const PROBLEM_PREFIX = "urn:hubheld:problem:";

export interface Server {
  /** Posts `body` to an address below /api/v1. Raises Unreachable or Refusal. */
  post(path: string, body: JsonObject): Promise<JsonObject>;
}

export function browserServer(): Server {
  return {
    async post(path, body) {
      const response = await answerTo(`/api/v1${path}`, JSON.stringify(body));
      const answer = await jsonOf(response);
      if (response.ok) return answer;
      throw refusalOf(response.status, answer);
    },
  };
}

async function answerTo(address: string, body: string): Promise<Response> {
  try {
    return await fetch(address, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body,
      cache: "no-store",
      credentials: "omit",
      redirect: "error",
      signal: AbortSignal.timeout(TIMEOUT_MS),
    });
  } catch {
    throw new Unreachable("The server did not answer.");
  }
}

async function jsonOf(response: Response): Promise<JsonObject> {
  try {
    const answer: Json = parse(await response.text(), ANSWER_DEPTH_MAX);
    if (isObject(answer)) return answer;
  } catch {
    // Falls through: whatever it was, it was not our server's JSON.
  }
  throw new Unreachable(
    `Something answered for the server (status ${response.status}), but not the server itself.`,
  );
}

function refusalOf(status: number, problem: JsonObject): Refusal {
  const text = (name: string) => {
    const value = member(problem, name);
    return typeof value === "string" ? value : "";
  };
  const message = text("detail") || text("title") || `The server refused (status ${status}).`;
  return new Refusal(message, status, text("type").replace(PROBLEM_PREFIX, ""));
}
