/** A probability, 0 to 1, in whole tenths to say: never none and never all, for no belief is certain. */
export function tenths(probability: number): number {
  return Math.min(9, Math.max(1, Math.round(probability * 10)));
}
