// Round steps of a scale or a field: 1, 2 or 5 times a power of ten.

// The nearest of 1, 2, 5 times a power of ten, so that steps are round in any unit.
export function niceStep(size) {
  const power = 10 ** Math.floor(Math.log10(size));
  const digit = size / power;
  return power * (digit < 1.5 ? 1 : digit < 3.5 ? 2 : digit < 7.5 ? 5 : 10);
}
