/** First run: what this is not, then the one-time code that makes this tablet known to its unit. */
import { useState } from "preact/hooks";

import { device } from "../../state/index.ts";
import { act, enrol } from "../acts.ts";
import { ProductMark } from "../parts/Hub.tsx";
import { useFocusOnce, useTitle } from "../parts/focus.ts";
import { ProblemLine } from "../parts/ProblemLine.tsx";
import { CommonSlab, NotYetSlab } from "../parts/Slab.tsx";
import { TextField } from "../parts/TextField.tsx";
import { goTo, to } from "../route.ts";
import { firstCaution, pageText, product } from "../text/en.ts";

const { enrol: text, pages } = pageText;

export function Enrol() {
  const heading = useFocusOnce<HTMLHeadingElement>("enrol");
  useTitle(text.title);
  return (
    <div class="page form">
      <main id="main" class="page-main">
        <p class="brand">
          <ProductMark />
          {product}
        </p>
        <h1 ref={heading} tabIndex={-1}>
          {text.title}
        </h1>
        <Lost />
        <p class="caution">{firstCaution}</p>
        <p>{text.hint}</p>
        <EnrolForm />
        <ProblemLine />
      </main>
      <nav class="page-links" aria-label={pageText.menu}>
        <a href={to.office}>{pages.office}</a>
        <a href={to.help}>{pages.help}</a>
      </nav>
    </div>
  );
}

/** A tablet that once stored something and does not hold it any more says so before anything else. */
function Lost() {
  const { lostStored } = device.value;
  if (lostStored === null) return null;
  const { held, known } = lostStored;
  const line = pageText.keeping.lostLine(String(held), String(known), String(known - held));
  return (
    <p class="problem">
      {pageText.keeping.lostTitle}. {line}
    </p>
  );
}

function EnrolForm() {
  const [code, setCode] = useState("");
  const [name, setName] = useState("");
  const [isAsking, setAsking] = useState(false);
  const isWhole = code.trim() !== "" && name.trim() !== "";
  const go = async () => {
    if (!isWhole || isAsking) return;
    setAsking(true);
    const isEnrolled = await act(enrol(code.trim(), name.trim()), text.done(name.trim()), text.failed);
    setAsking(false);
    if (isEnrolled) goTo(to.today);
  };
  return (
    <>
      <TextField
        label={text.code}
        value={code}
        autoCapitalize="characters"
        required
        onInput={setCode}
        onEnter={() => void go()}
      />
      <TextField
        label={text.name}
        hint={text.nameHint}
        value={name}
        required
        onInput={setName}
        onEnter={() => void go()}
      />
      {isWhole ? (
        <CommonSlab label={isAsking ? text.working : text.go} onPress={() => void go()} />
      ) : (
        <NotYetSlab label={text.go} detail={text.missing} />
      )}
    </>
  );
}
