/** What is said of the larder before a trip. Part of the catalogue en.ts. */
export const useUp = {
  title: 'Use up before leaving',
  text: 'What would not last until you are back. Feedings before you leave choose it first, where a bin may have it.',
  useBy: (day: string) => `use by ${day}`,
  fresh: 'does not keep',
}
