// A file as lines of text, in pieces: UTF-8, UTF-16 or Latin-1, whichever it is, and never more than a piece in memory.

import { breather } from "../core/breath.js";

const HEAD = 65536; // bytes looked at first
export const PIECE = 32768; // bytes
const LONGEST_LINE = 100000; // letters: what is longer is no line of a table

// What is wrong with a file, as a sentence for the user.
export class Unread extends Error {}

// -> {encoding, lines: the first whole lines, skip: bytes of the mark in front, end: of a line}. Errors: Unread.
export async function readHead(blob) {
  const bytes = new Uint8Array(await blob.slice(0, HEAD).arrayBuffer());
  if (bytes.length === 0) throw new Unread("This file is empty.");
  const { encoding, skip } = encodingOf(bytes);
  const text = new TextDecoder(encoding).decode(bytes.subarray(skip), { stream: true });
  if (encoding === "windows-1252" && text.includes("\0")) throw new Unread("Line 1: this is no text. If the logger's own program can save a table as text, open that.");
  const lines = text.split(/\r\n|\n|\r/);
  if (bytes.length === HEAD && lines.length > 1) lines.pop(); // cut in the middle
  // Files of old machines end a line with a return alone.
  return { encoding, lines, skip, end: text.includes("\n") ? "\n" : "\r" };
}

function encodingOf(bytes) {
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return { encoding: "utf-16le", skip: 2 };
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return { encoding: "utf-16be", skip: 2 };
  if (bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf) return { encoding: "utf-8", skip: 3 };
  // Without a mark: plain letters in UTF-16 have every other byte empty.
  const empty = [0, 0];
  const looked = Math.min(bytes.length, 2000);
  for (let i = 0; i < looked; i += 1) if (bytes[i] === 0) empty[i & 1] += 1;
  if (empty[1] > looked / 5 && empty[0] < looked / 20) return { encoding: "utf-16le", skip: 0 };
  if (empty[0] > looked / 5 && empty[1] < looked / 20) return { encoding: "utf-16be", skip: 0 };
  try {
    new TextDecoder("utf-8", { fatal: true }).decode(bytes, { stream: true });
    return { encoding: "utf-8", skip: 0 };
  } catch {
    return { encoding: "windows-1252", skip: 0 }; // Latin-1 and what was added to it
  }
}

// Every line: onLine(text, number from 1, whether the file ends in it without an end of the line). Between pieces `onPart` is told
// the share read, and `onPause` is waited for; `signal` stops it. Errors: Unread, AbortError.
export async function readLines(blob, { encoding, skip, end, onLine, onPart, onPause, signal }) {
  const decoder = new TextDecoder(encoding);
  const rest = breather();
  let left = "";
  let number = 0;
  for (let at = skip; at < blob.size; at += PIECE) {
    const bytes = await blob.slice(at, at + PIECE).arrayBuffer();
    const isLast = at + PIECE >= blob.size;
    const lines = (left + decoder.decode(bytes, { stream: !isLast })).split(end);
    left = isLast ? "" : lines.pop();
    if (left.length > LONGEST_LINE) throw new Unread(`Line ${number + lines.length + 1} never ends: this is no table of lines.`);
    for (const [place, line] of lines.entries()) {
      // A return before the end belongs to it; one more is an empty line, as the head counts it.
      for (const part of line.includes("\r") ? line.replace(/\r$/, "").split("\r") : [line]) {
        number += 1;
        onLine(part, number, isLast && place === lines.length - 1);
        if (number & 15) continue;
        await rest();
        signal.throwIfAborted();
      }
    }
    onPart(Math.min(1, (at + PIECE) / blob.size));
    await onPause();
    await rest();
    signal.throwIfAborted();
  }
}
