"""What was done to a text, forwards and back, without limit."""

from dataclasses import dataclass, replace


@dataclass(frozen=True)
class Change:
    """One change: at a place of the text something goes out and something comes in.

    Attributes
    ----------
    words : what was done, as the slate says it
    at : characters before the place
    out, into : text before and after
    """

    words: str
    at: int
    out: str
    into: str

    @classmethod
    def between(cls, before: str, after: str, words: str) -> "Change":
        """The smallest single change that leads from one text to another."""
        most = min(len(before), len(after))
        head = next((i for i in range(most) if before[i] != after[i]), most)
        room = most - head
        tail = next((i for i in range(room) if before[-1 - i] != after[-1 - i]), room)
        return cls(words, head, before[head : len(before) - tail], after[head : len(after) - tail])

    def forward(self, text: str) -> str:
        """The text after it; ValueError where it does not fit the text."""
        return self._put(text, self.out, self.into)

    def back(self, text: str) -> str:
        """The text before it; ValueError where it does not fit the text."""
        return self._put(text, self.into, self.out)

    def _put(self, text: str, out: str, into: str) -> str:
        end = self.at + len(out)
        if text[self.at : end] != out:
            raise ValueError("this change does not belong to this text")
        return text[: self.at] + into + text[end:]


@dataclass(frozen=True)
class History:
    """A text and what led to it.

    Attributes
    ----------
    text : as it is now
    done : changes that led to it, oldest first
    undone : changes that were taken back and can be done again, the next one last
    """

    text: str
    done: tuple[Change, ...] = ()
    undone: tuple[Change, ...] = ()

    def changed(self, text: str, words: str) -> "History":
        """With one more change; what was taken back before is then gone."""
        if text == self.text:
            return self
        return History(text, (*self.done, Change.between(self.text, text, words)))

    def back(self) -> "History":
        """The last change taken back; the same when there is none."""
        if not self.done:
            return self
        last = self.done[-1]
        return replace(self, text=last.back(self.text), done=self.done[:-1], undone=(*self.undone, last))

    def forward(self) -> "History":
        """What was taken back last, done again; the same when there is nothing."""
        if not self.undone:
            return self
        following = self.undone[-1]
        return replace(
            self, text=following.forward(self.text), done=(*self.done, following), undone=self.undone[:-1]
        )
