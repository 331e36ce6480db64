/** A syringe with its lock tight and its hub held between two fingers. */

import { shownText } from "../text/en.ts";

export function HubPicture() {
  return (
    <svg
      class="picture tablet-only"
      viewBox="0 0 600 168"
      width="600"
      height="168"
      role="img"
      aria-label={shownText.hubPicture.read}
      fill="none"
      stroke="currentColor"
      stroke-width="5"
      stroke-linejoin="round"
    >
      <path d="M0 62h170v44H0" />
      <path d="M150 62v44M118 62v16M86 62v16M54 62v16M22 62v16" stroke-width="3" />
      <g class="live-colour">
        <path d="M170 54h64v60h-64z" stroke-width="6" />
        <path d="M184 54l12 60M202 54l12 60M218 54l8 40" stroke-width="4" />
      </g>
      <path d="M234 66l96 8v20l-96 8z" />
      <path d="M330 84h150q22 0 34 22l10 18" stroke-width="4" />
      <g class="live-colour fingers">
        <path d="M252 60c-8-34 6-56 28-58 24-2 40 22 38 60z" stroke-width="6" />
        <path d="M252 108c-8 34 6 56 28 58 24 2 40-22 38-60z" stroke-width="6" />
      </g>
      <g stroke="none">
        <text x="202" y="150" text-anchor="middle" font-size="26" font-weight="700">
          {shownText.hubPicture.lock}
        </text>
        <text x="338" y="40" font-size="26" font-weight="700">
          {shownText.hubPicture.hub}
        </text>
      </g>
    </svg>
  );
}
