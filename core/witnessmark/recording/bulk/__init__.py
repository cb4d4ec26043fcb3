"""The bulk reading: candump text straight to conversations, with numpy. It comes to the same results as
`recording.reading`, which says what the results are; what it cannot read alike it hands back.

    text, rows   bytes to one row a frame: of every frame what tells which lines may carry diagnostics, of theirs all
    reassembly   the frames of those lines to messages; whatever is not regular goes through the state machine
    heads        messages to service, sub-function, identifier, response code
    pairing      answers to their requests
    exchanges    all of it as arrays, and as `Conversation`s made when they are looked at
"""
