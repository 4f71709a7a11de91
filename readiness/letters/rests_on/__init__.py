"""What a sentence of a letter rests on: named where the sentence is made, shown to whoever asks.

``named`` says it from the facts, ``rows`` reads it, ``page`` finds the sentence.
"""
