/** A picture that can be drawn and must be closed: a decoded frame of the review copy, the same made small, or a still of the original. */
export type Picture = VideoFrame | ImageBitmap

/** One picture with several holders: closed when the last of them lets go. A bitmap cannot be cloned as a frame can. */
export class SharedPicture {
  readonly picture: Picture
  #holders = 1

  /** The maker is the first holder. */
  constructor(picture: Picture) {
    this.picture = picture
  }

  /** One holder more, who must close it too. */
  share(): this {
    this.#holders++
    return this
  }

  close(): void {
    if (--this.#holders === 0) this.picture.close()
  }
}
