/** Lets the waiting version take over and reloads: call it when the person agrees. */
export async function updateNow(): Promise<void> {
  throw new Error('updateNow')
}
