/** The surgeon's code and PIN, and what signing means. Works with the network off. */
import { useState } from "preact/hooks";

import { pinKeys } from "../../state/index.ts";
import { act, sign } from "../acts.ts";
import { to } from "../route.ts";
import { pageText, reviewText } from "../text/en.ts";
import { CommonSlab, LinkSlab, NotYetSlab } from "./Slab.tsx";
import { TextField } from "./TextField.tsx";

export interface SignFormProps {
  readonly caseId: string;
  readonly answersToGive: number;
  readonly label: string;
}

export function SignForm({ caseId, answersToGive, label }: SignFormProps) {
  const [code, setCode] = useState("");
  const [pin, setPin] = useState("");
  if (answersToGive > 0)
    return <NotYetSlab label={reviewText.answersToGive(answersToGive)} detail={reviewText.thenSigns} />;
  const signNow = async () => {
    if (code.trim() === "" || pin === "") return;
    const isSigned = await act(sign(caseId, code.trim(), pin), reviewText.signedNow, reviewText.notSigned);
    setPin("");
    if (isSigned) setCode("");
  };
  return (
    <form class="sign-form" onSubmit={(event) => event.preventDefault()}>
      <p class="caution">{reviewText.signMeans}</p>
      {pinKeys.value.length === 0 ? (
        <>
          <p>{reviewText.noKey}</p>
          <LinkSlab href={to.keeping} look="quiet">
            {pageText.pages.keeping}
          </LinkSlab>
        </>
      ) : null}
      <TextField label={reviewText.code} value={code} onInput={setCode} required />
      <TextField
        label={reviewText.pin}
        value={pin}
        kind="password"
        onInput={setPin}
        onEnter={() => void signNow()}
        required
      />
      {code.trim() === "" || pin === "" ? (
        <NotYetSlab label={label} detail={reviewText.needCode} />
      ) : (
        <CommonSlab label={label} onPress={() => void signNow()} />
      )}
    </form>
  );
}
