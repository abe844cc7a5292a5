// What a reader of static/ would stumble over: names that are not there or not used. npx eslint@9 -c .eslint/config.mjs static

const PAGE = `window document location localStorage navigator indexedDB crypto performance console fetch setTimeout clearTimeout
  requestAnimationFrame cancelAnimationFrame URL Blob File Response Event CustomEvent PointerEvent MessageChannel BroadcastChannel AbortController AbortSignal setInterval clearInterval btoa atob CompressionStream DecompressionStream
  ResizeObserver IntersectionObserver MutationObserver TextDecoder TextEncoder structuredClone getComputedStyle matchMedia
  reportError SVGElement HTMLElement Element Node IDBKeyRange DOMException innerWidth innerHeight history queueMicrotask`;
const WORKER = "self caches clients VERSION DIGESTS POLICY"; // the last three the server puts above the worker

const globals = Object.fromEntries(`${PAGE} ${WORKER}`.split(/\s+/).map((name) => [name, "readonly"]));
const rules = ["no-undef", "no-const-assign", "no-dupe-keys", "no-dupe-class-members", "no-unreachable", "no-redeclare", "no-self-assign", "no-fallthrough", "no-unsafe-finally", "no-cond-assign"];

export default [{
  languageOptions: { ecmaVersion: 2024, sourceType: "module", globals },
  rules: {
    ...Object.fromEntries(rules.map((rule) => [rule, "error"])),
    // Names put aside to leave them out of the rest.
    "no-unused-vars": ["error", { ignoreRestSiblings: true, argsIgnorePattern: "^_", varsIgnorePattern: "^_" }],
  },
}];
