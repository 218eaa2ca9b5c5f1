/** Work that may fail, one at a time: what went wrong is said, and what came of it. */
export class Attempt {
  busy = $state(false)
  problem = $state('')
  said = $state('')

  /** work may answer what to say. */
  async run(work: () => Promise<string | void>): Promise<void> {
    if (this.busy) return
    this.busy = true
    this.problem = this.said = ''
    try {
      this.said = (await work()) ?? ''
    } catch (error) {
      this.problem = error instanceof Error ? error.message : String(error)
    } finally {
      this.busy = false
    }
  }
}

/** A list that only the server has: null until it answers, and away where it does not. */
export class Listed<T> extends Attempt {
  found = $state.raw<T[] | null>(null)
  away = $state(false)
  #list: () => Promise<T[]>

  constructor(list: () => Promise<T[]>) {
    super()
    this.#list = list
    void this.look()
  }

  async look(): Promise<void> {
    try {
      this.found = await this.#list()
      this.away = false
    } catch {
      this.away = true
    }
  }

  /** Changes something and looks again. */
  change(work: () => Promise<string | void>): Promise<void> {
    return this.run(async () => {
      const said = await work()
      await this.look()
      return said
    })
  }
}
