/**
 * Draws the app's PNG icons (the hub between two corners) into public/icons. Run by hand when the sign
 * changes: `node build_steps/drawIcons.mjs`; its output is committed.
 */
import { writeFileSync } from "node:fs";
import { crc32, deflateSync } from "node:zlib";

const GROUND = [0x0c, 0x09, 0x07];
const COPPER = [0xf0, 0xa5, 0x65];
const SAMPLES = 4; // per pixel and direction, for smooth edges

/** Corners as boxes [x, y, width, height] and the hub's lugs, in the 48-unit drawing of icon.svg. */
const BOXES = [
  [7, 6, 4, 11],
  [7, 6, 12, 4],
  [37, 31, 4, 11],
  [29, 38, 12, 4],
  [8, 20.5, 6, 7],
  [34, 20.5, 6, 7],
];

function isCopper(x, y) {
  const radius = Math.hypot(x - 24, y - 24);
  if (radius >= 6.5 && radius <= 11.5) return true;
  return BOXES.some(
    ([left, top, width, height]) => x >= left && x <= left + width && y >= top && y <= top + height,
  );
}

/** `size` in pixels; `scale` under 1 shrinks the sign towards the centre (the maskable safe zone). */
function pixels(size, scale) {
  const rows = Buffer.alloc(size * (1 + size * 3));
  for (let row = 0; row < size; row += 1) {
    for (let column = 0; column < size; column += 1) {
      const share = coverage(row, column, size, scale);
      const at = row * (1 + size * 3) + 1 + column * 3;
      for (let channel = 0; channel < 3; channel += 1) {
        rows[at + channel] = Math.round(GROUND[channel] + (COPPER[channel] - GROUND[channel]) * share);
      }
    }
  }
  return rows;
}

function coverage(row, column, size, scale) {
  let hits = 0;
  for (let sample = 0; sample < SAMPLES * SAMPLES; sample += 1) {
    const x = ((column + ((sample % SAMPLES) + 0.5) / SAMPLES) / size) * 48;
    const y = ((row + (Math.floor(sample / SAMPLES) + 0.5) / SAMPLES) / size) * 48;
    if (isCopper(24 + (x - 24) / scale, 24 + (y - 24) / scale)) hits += 1;
  }
  return hits / (SAMPLES * SAMPLES);
}

function chunk(name, data) {
  const body = Buffer.concat([Buffer.from(name, "latin1"), data]);
  const framed = Buffer.alloc(body.length + 8);
  framed.writeUInt32BE(data.length, 0);
  body.copy(framed, 4);
  framed.writeUInt32BE(crc32(body), body.length + 4);
  return framed;
}

function png(size, scale) {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(size, 0);
  header.writeUInt32BE(size, 4);
  header.set([8, 2, 0, 0, 0], 8); // 8 bits, true colour, no interlace
  const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  const data = deflateSync(pixels(size, scale), { level: 9 });
  return Buffer.concat([
    signature,
    chunk("IHDR", header),
    chunk("IDAT", data),
    chunk("IEND", Buffer.alloc(0)),
  ]);
}

const folder = new URL("../public/icons/", import.meta.url);
writeFileSync(new URL("icon-192.png", folder), png(192, 1));
writeFileSync(new URL("icon-512.png", folder), png(512, 1));
writeFileSync(new URL("maskable-512.png", folder), png(512, 0.72));
