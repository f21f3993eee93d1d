// The shop keeps JPEG and PNG. What a phone keeps in another way is written as JPEG
// here, where the browser can read it.
const longest = 4096; // px: more than any paper shows

/** asJPEG is the file itself where it is JPEG or PNG. Throws where it is no picture. */
export async function asJPEG(file: File): Promise<File> {
  if (file.type === "image/jpeg" || file.type === "image/png") return file;
  const picture = await createImageBitmap(file);
  const k = Math.min(1, longest / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(k * picture.width);
  canvas.height = Math.round(k * picture.height);
  canvas.getContext("2d")!.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/jpeg", 0.9));
  if (!blob) throw new Error("no picture");
  return new File([blob], file.name.replace(/\.[^.]*$/, "") + ".jpg", { type: "image/jpeg" });
}
